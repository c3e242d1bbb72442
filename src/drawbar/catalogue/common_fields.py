"""Fields that every kind of row has."""

from __future__ import annotations

from drawbar.yamlfile.fields import Field
from drawbar.yamlfile.scalars import TextLine

SOURCE_FIELD = Field(
    TextLine(400),
    "where the figures stand: a standard and its table, `common practice` or `from memory`",
    required=True,
)
TITLE_FIELD = Field(TextLine(), "what it is, in words", required=True)
