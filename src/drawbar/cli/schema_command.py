"""`drawbar schema`."""

from __future__ import annotations

import click

from drawbar.cli.options import FileCommand, library_option, out_option
from drawbar.cli.output import write
from drawbar.cli.reading import catalogue


@click.command(name="schema", cls=FileCommand)
@library_option
@out_option
def schema_command(libraries: tuple[str, ...], out: str | None) -> None:
    """Print the JSON Schema (2020-12) of the job file, for editors.

    An editor that knows JSON Schema for YAML then completes keys, names and
    units, and marks what can't stand. Most take the schema's file from the
    job's first line:

    \b
      # yaml-language-server: $schema=job.schema.json

    \b
    Example:
      drawbar schema --out job.schema.json
    """
    import json

    from drawbar.jobfile.schema import job_schema

    # Not as UTF-8: standard output may have another encoding, and JSON has its own escapes.
    write(json.dumps(job_schema(catalogue(libraries)), indent=2) + "\n", out)
