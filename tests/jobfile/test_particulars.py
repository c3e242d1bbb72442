"""Who, for whom and on what: read from the job file and from a library, as text, and no figure depends on it."""

from pathlib import Path

import pytest

from drawbar.catalogue.catalogue import Catalogue
from drawbar.checking.check import check_job
from drawbar.jobfile.reader import job_of
from drawbar.particulars import NONE_GIVEN, Particulars
from drawbar.problems import Problems
from jobs import CATALOGUE
from sheet_jobs import TINY

OWN = """\
workshop: {business: Bend and Flare, licence: L 1, logo: pictures/logo.png}
customer: A. Person
vehicle: {make: Steel box, VIN: "0117", colour of the door: green}
installer: {name: B. Fitter}
"""


def test_fields_of_any_name_are_read_as_text_in_their_order(tmp_path: Path) -> None:
    """A single text is a name; a number stays the text that it is; the logo is a path from the file on."""
    read = job_of(TINY + OWN, str(tmp_path / "job.yaml"), CATALOGUE).particulars
    assert read == Particulars(
        workshop=(("business", "Bend and Flare"), ("licence", "L 1")),
        customer=(("name", "A. Person"),),
        vehicle=(("make", "Steel box"), ("VIN", "0117"), ("colour of the door", "green")),
        installer=(("name", "B. Fitter"),),
        logo=str(tmp_path / "pictures/logo.png"),
    )


def test_nothing_is_invented() -> None:
    """A job that says nothing has nothing, and no figure of the check depends on what is said."""
    bare, named = job_of(TINY, "a.yaml", CATALOGUE), job_of(TINY + OWN, "a.yaml", CATALOGUE)
    assert bare.particulars == NONE_GIVEN
    pressures = [[each.gauge_pa for each in check_job(job).states[0].appliances] for job in (bare, named)]
    assert pressures[0] == pressures[1]


def test_the_library_gives_the_workshop_and_the_job_has_the_say(tmp_path: Path) -> None:
    """A field of the job goes before the library's of the same name; a later library before an earlier one."""
    first, later = tmp_path / "first.yaml", tmp_path / "later.yaml"
    first.write_text("workshop: {business: One, phone: 555 0100, logo: one.svg}\n", encoding="utf-8")
    later.write_text("workshop: {business: Two}\n", encoding="utf-8")
    catalogue = Catalogue([str(first), str(later)])
    job = job_of(TINY, "job.yaml", catalogue)
    assert job.particulars.workshop == (("business", "Two"), ("phone", "555 0100"))
    assert job.particulars.logo == str(tmp_path / "one.svg")
    own = job_of(TINY + "workshop: {phone: 555 0199}\n", "job.yaml", catalogue)
    assert own.particulars.workshop == (("business", "Two"), ("phone", "555 0199"))


@pytest.mark.parametrize("name", ["/etc/logo.png", "c:\\logo.png", "https://example.com/logo.png"])
def test_a_logo_is_a_file_beside_the_job(name: str) -> None:
    """No path of one machine, and no address of another."""
    with pytest.raises(Problems, match="is not a file beside this one; name it from this file's folder on") as raised:
        job_of(TINY + f"workshop: {{logo: '{name}'}}\n", "job.yaml", CATALOGUE)
    assert [(each.line, each.where) for each in raised.value.problems] == [(9, "workshop.logo")]


def test_what_can_not_be_a_field_is_told() -> None:
    """A list, a table in a field, a field without a text."""
    with pytest.raises(Problems) as raised:
        job_of(TINY + "customer: [A, B]\nvehicle: {make: {model: x}}\ninstaller: {name: }\n", "j.yaml", CATALOGUE)
    assert [each.where for each in raised.value.problems] == ["customer", "vehicle.make", "installer.name"]
