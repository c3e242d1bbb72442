"""The schemas beside the jobs: where `drawbar schema --install` writes them, and the line by which an editor finds one.

They stand in one folder, so that a folder of jobs stays a folder of jobs; the line names the file from there, so that
it needs no network and holds wherever the folder goes.
"""

from __future__ import annotations

import json
from pathlib import Path

from drawbar.catalogue.catalogue import Catalogue
from drawbar.schemas.schema_kinds import SCHEMA_KINDS
from drawbar.schemas.walk import URN

SCHEMA_FOLDER = ".drawbar"


class NotOurs(Exception):
    """A file that stands where a schema should go and is none of ours.

    Attributes
    ----------
    path : Path
        Where it stands.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        super().__init__(path)


def schema_text(kind: str, catalogue: Catalogue) -> str:
    """Return the schema of a kind of file, one of SCHEMA_KINDS, as text.

    It is plain ASCII, as standard output may have another encoding than UTF-8, and JSON has its own escapes.
    """
    return json.dumps(SCHEMA_KINDS[kind].build(catalogue), indent=2) + "\n"


def schema_file(kind: str) -> str:
    """Return where the schema of a kind stands, from the folder of the jobs."""
    return f"{SCHEMA_FOLDER}/{kind}.schema.json"


def editor_line(kind: str) -> str:
    """Return the line of a YAML file by which an editor finds its schema, once that is installed."""
    return f"# yaml-language-server: $schema={schema_file(kind)}"


def install(folder: Path, catalogue: Catalogue) -> list[Path]:
    """Write the schemas of all files that people write beside the jobs of a folder.

    Parameters
    ----------
    folder : Path
        The folder of the jobs.
    catalogue : Catalogue
        The names that the files may use.

    Returns
    -------
    list of Path
        The files that were written; an earlier schema of ours is replaced.

    Raises
    ------
    NotOurs
        If another file stands where a schema goes; nothing is written then.
    OSError
        If a file can't be written.
    """
    paths = {kind: folder / schema_file(kind) for kind, of in SCHEMA_KINDS.items() if of.is_input}
    for path in paths.values():
        if path.exists() and not _is_ours(path):
            raise NotOurs(path)
    texts = {path: schema_text(kind, catalogue) for kind, path in paths.items()}
    for path, text in texts.items():
        path.parent.mkdir(exist_ok=True)
        beside = path.with_name(f".{path.name}.new")
        try:
            beside.write_text(text, encoding="utf-8")
            beside.replace(path)
        except BaseException:
            beside.unlink(missing_ok=True)
            raise
    return list(texts)


def _is_ours(path: Path) -> bool:
    try:
        return json.loads(path.read_text(encoding="utf-8"))["$id"].startswith(URN) is True
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return False
