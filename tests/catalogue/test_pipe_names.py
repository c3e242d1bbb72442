"""What a text means that names a pipe: whatever is typed for a tube, the answer is never another tube.

Every family and size of the project's own data is written in the ways that people write it.
"""

import re
from collections.abc import Iterator

import pytest

from drawbar.catalogue.pipe_names import family_meant, size_named, sizes_meant
from drawbar.problems import Problems, close_to
from good_job import GOOD
from jobs import CATALOGUE, job_from

FAMILIES = CATALOGUE.names("pipes")
IN_INCHES = ("csst", "b88-k", "b88-l", "b88-m", "b280", "sch40", "en10255-m")  # or in numbers that are no lengths
LABELS = [(family, size) for family in FAMILIES for size in CATALOGUE.sizes(family) or {}]


def answer(typed: str) -> tuple[str, list[str]]:
    """Return the pipe that a job takes a text for, and the pipes that are named where it takes it for none."""
    text = GOOD.replace("pipe: as1432-b/12.70", f"pipe: {typed!r}")
    assert text != GOOD
    try:
        return job_from(text).runs[0].pipes[0].label, []
    except Problems as error:
        (problem,) = error.problems
        return "", re.findall("`([^`]+)`", problem.fit)


def family_spellings(family: str) -> Iterator[str]:
    """Yield a family in other cases and with other separators."""
    yield from (family.upper(), family.title(), family.replace("-", ""), family.replace("-", " "), f"{family} ")
    spaced = re.sub(r"(?<=[a-z])(?=\d)", " ", family)
    yield from (spaced.upper(), spaced.replace("-", "_"), spaced.replace(" ", "-").replace("-", "/"))


def size_spellings(family: str, size: str) -> Iterator[str]:
    """Yield a size in other cases, with a unit, with other separators, without or with zeros that mean nothing."""
    yield from (f" {size}", f"{size} ", size.lower(), size.upper())
    if family not in IN_INCHES:
        yield from (f"{size} mm", f"{size}mm")
    yield size.replace(".", ",")
    yield size.replace("x", " x ")
    yield size.replace("x", "\u00d7")
    yield re.sub(r"(\.\d*?)0+(?=x|$)", r"\1", size).removesuffix(".")
    yield re.sub(r"(\d+\.\d+)", r"\g<1>0", size)
    yield re.sub(r"^0\.", ".", size)
    yield size.replace("DN", "dn ")


@pytest.mark.parametrize("family", FAMILIES)
def test_a_family_however_it_is_written(family):
    """The right one is offered, with the size, and no other."""
    size = next(iter(CATALOGUE.sizes(family) or {}))
    for spelling in {*family_spellings(family)} - {family}:
        taken, offered = answer(f"{spelling}/{size}")
        assert taken == ""
        assert offered == [f"{family}/{size}"], spelling
        assert close_to(spelling, FAMILIES) == f"did you mean `{family}`?"  # as `list pipes NAME` says it


@pytest.mark.parametrize(("family", "size"), LABELS)
def test_a_size_however_it_is_written(family, size):
    """It is taken for itself, or it is offered; where it could be several, it is among all of them."""
    row = CATALOGUE.pipe_family(family)
    assert row is not None
    for spelling in {*size_spellings(family, size)} - {size}:
        named, meant = size_named(row, spelling), [other.size for other in sizes_meant(row, spelling)]
        assert named in (None, size), spelling
        assert meant in ([], [size]), spelling
        if spelling.strip() != size:
            assert meant == [size], spelling
    assert answer(f"{family}/{size}") == (f"{family}/{size}", [])
    assert answer(f"{family}/{size} mm") == ("", [] if family in IN_INCHES else [size])
    assert answer(f"{family.upper().replace('-', '')} {size}") == ("", [f"{family}/{size}"])


@pytest.mark.parametrize(("family", "size"), LABELS)
def test_a_size_by_what_else_it_is_called(family, size):
    """What stands under `also` is taken, or with `"` for `in`: the same tube."""
    row = CATALOGUE.pipe_family(family)
    assert row is not None
    also = row.sizes[size].also
    for spelling in (also, also.replace(" in", '"')) if also is not None else ():
        assert answer(f"{family}/{spelling}") == (f"{family}/{size}", []), spelling


def test_some_are_called_otherwise():
    """By hand, from the tables of the trade: DN 15 of AS 1432 is 12.70 mm; 3/4 in of ASTM B88 is 0.875 in outside."""
    assert answer("as1432-b/DN 15")[0] == "as1432-b/12.70"
    assert answer("b88-l/3/4")[0] == "b88-l/0.75"
    assert answer('sch40/1 1/4"')[0] == "sch40/1.25"
    assert answer("en10255-m/1/2 in")[0] == "en10255-m/DN15"
    assert answer("b280/3/8 in OD")[0] == "b280/0.375"


@pytest.mark.parametrize(
    ("typed", "offered"),
    [
        ("b88-k/1/2 in OD", ["0.375"]),  # half an inch outside is the nominal 3/8 (ASTM B88)
        ("as1432-b/1/2 in", ["12.70"]),  # by its diameter
        ("as1432-b/15", ["12.70", "15.88"]),  # DN 15, or the beginning of 15.88
        ("as1432-b/12.07", []),
        ("en1057/15", ["15x1.0", "15x0.8", "15x0.7"]),
        ("en1057/22x1", ["22x1.0"]),
        ("sch40/125", []),  # not 1.25 without its point
        ("sch40/12.5", []),
        ("as1432-b/DN 12", []),
        ("as1432-x/12.70", ["as1432-a", "as1432-b", "as1432-c", "as1432-d"]),
        ("b88-n/1", ["b88-k", "b88-l", "b88-m"]),
        ("AS 1432 B", ["as1432-b/SIZE", "drawbar list pipes as1432-b"]),
    ],
)
def test_what_is_not_clear_is_asked_back(typed, offered):
    """All that it can be, or the list of what there is; never one of several."""
    assert answer(typed) == ("", offered)


@pytest.mark.parametrize(
    ("typed", "labels"),
    [
        ("DN 10", ["as1432-a/9.52", "as1432-b/9.52", "as1432-c/9.52", "en10255-m/DN10"]),
        ("3/4 in", ["b88-k/0.75", "b88-l/0.75", "b88-m/0.75", "b280/0.75", "sch40/0.75", "en10255-m/DN20"]),
        ("12.7 mm", ["as1432-a/12.70", "as1432-b/12.70", "as1432-c/12.70"]),
    ],
)
def test_a_size_alone_is_asked_of_which_tube(typed, labels):
    assert answer(typed) == ("", [*labels, "drawbar list pipes"])


def test_a_longer_name_goes_before_a_shorter():
    """Families of a library whose names begin alike are told apart."""
    assert family_meant("Our Tube B 12", ["our-tube", "our-tube-b"]) == ("our-tube-b", "12")
    assert family_meant("our tubes/12", ["our-tube"]) is None
