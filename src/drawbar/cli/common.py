"""What the commands share, under one name."""

from drawbar.cli.options import FORMS, QuantityOption, format_option, library_option, out_option
from drawbar.cli.output import (
    CLOSED_OUTPUT,
    OutputClosed,
    coloured,
    draws_lines,
    emit,
    print_page,
    print_pages,
    write,
    write_whole,
)
from drawbar.cli.reading import InputWrong, catalogue, each_job, problems_told

__all__ = [
    "CLOSED_OUTPUT",
    "FORMS",
    "InputWrong",
    "OutputClosed",
    "QuantityOption",
    "catalogue",
    "coloured",
    "draws_lines",
    "each_job",
    "emit",
    "format_option",
    "library_option",
    "out_option",
    "print_page",
    "print_pages",
    "problems_told",
    "write",
    "write_whole",
]
