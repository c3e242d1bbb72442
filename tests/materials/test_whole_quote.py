"""A quote with all its parts, worked by hand: tax added, every line rounded; tax in the prices, the sums alone rounded.

The van of tests/support/van_galley.py, with two bottles of 9 kg. Its takeoff by hand, with 5 % waste: 5.933 m of 12.70
(5.65 m and its waste are 5.9325 m), 8.558 m of 9.52 (8.15 m: 8.5575 m), 13.8 m laid, 21 joints.
"""

import datetime
import json
import re
from dataclasses import replace

import pytest

from drawbar.materials.money import currencies
from drawbar.materials.needs import needs_of
from drawbar.materials.prices import read_price_list
from drawbar.materials.quote import quote
from drawbar.materials.takeoff import takeoff_of
from jobs import CATALOGUE, job_from
from van_galley import JOB

VAN = JOB + "cylinders: {size: 9 kg, count: 2, drawing: 1, fill: 50 %, ambient: 15 degC}\n"
PRICES = """\
currency: AUD
per-metre:
  as1432-b/12.70: {price: 177.30, per: 18 m, text: in coils}
  as1432-b/9.52: 7.15
each:
  elbow-90: {price: 24.50, per: 10}
  elbow-90@as1432-b/12.70: 3.15
  ball-valve: 24.90
  tee: 4.80
  bayonet: 38.00
  coupler: 21.55
  lead: 46.10
  regulator: 89.00
appliances: {cooker: 512.40, heater: 388.00, grill: 129.95, urn: 145.50}
bottles: {9 kg: 98.50}
labour: {per-joint: 6.55, per-metre: 13.75, per-job: 65.00, per-hour: 93.50, test: 40 min, purge: 15 min}
fees: {call-out: 85.00, certificate: 47.50}
sundries: 3.5 %
waste: 5 %
margin: 17.5 %
tax: {name: GST, rate: 10 %}
rounding: {by: line, half: up, total-to: 0.05}
valid: 30 days
terms: [Half on order., The rest on the day.]
"""
DAY = datetime.date(2026, 1, 31)


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "van.yaml").write_text(VAN, encoding="utf-8")
    (tmp_path / "prices.yaml").write_text(PRICES, encoding="utf-8")
    return tmp_path


@pytest.fixture
def quoted(folder):
    """Return the quote of the van by a changed price list."""

    def of(*changes):
        text = PRICES
        for old, new in changes:
            assert old in text
            text = text.replace(old, new)
        (folder / "prices.yaml").write_text(text, encoding="utf-8")
        return quote(takeoff_of(needs_of(job_from(VAN))), read_price_list("prices.yaml", CATALOGUE), date=DAY)

    return of


def test_tax_added_and_every_line_rounded(quoted):
    """By hand, half a cent up.

    Pipe: 5.933 x 177.30 / 18 = 58.44005, 58.44; 8.558 x 7.15 = 61.1897, 61.19.
    Parts: elbows 3 x 24.50 / 10 = 7.35 and 3 x 3.15 = 9.45; 24.90, 4.80, 38.00, 21.55, 46.10, 89.00. With the pipe
    360.78.
    Appliances 512.40 + 388.00 + 129.95 + 145.50 = 1175.85; bottles 2 x 98.50 = 197.00. Materials 1733.63.
    Sundries 3.5 % of 360.78 = 12.6273, 12.63.
    Labour: 13.8 x 13.75 = 189.75; 21 x 6.55 = 137.55; 65.00; 40 / 60 x 93.50 = 62.333, 62.33; 15 / 60 x 93.50 =
    23.375, 23.38. Together 478.01.
    Margin 17.5 % of 1733.63 + 12.63 + 478.01 = 2224.27 is 389.24725, 389.25. Fees 85.00 + 47.50 = 132.50.
    Tax 10 % of 2224.27 + 389.25 + 132.50 = 2746.02 is 274.602, 274.60. Total 3020.62, to five cents 3020.60.
    """
    whole = quoted()
    amounts = {(line.item, line.size): str(line.amount) for line in whole.lines}
    assert amounts[("pipe", "as1432-b/12.70")] == "58.44"
    assert amounts[("elbow-90", "as1432-b/9.52")] == "7.35"
    assert amounts[("bottle", "9 kg")] == "197.00"
    assert (amounts[("tightness test", "")], amounts[("purge", "")]) == ("62.33", "23.38")
    sums = (whole.materials, whole.sundries, whole.labour, whole.margin, whole.fees, whole.tax, whole.rounding)
    assert list(map(str, sums)) == ["1733.63", "12.63", "478.01", "389.25", "132.50", "274.60", "-0.02"]
    assert (str(whole.cost), str(whole.total)) == ("2224.27", "3020.60")
    assert whole.is_complete
    assert (whole.unused, whole.not_quoted) == ((), ())
    assert whole.valid_until == datetime.date(2026, 3, 2)  # a January's last day and 30 more, of a February with 28


def test_tax_in_the_prices_and_the_sums_alone_rounded(quoted):
    """By hand, in a money of three decimals, half to the even one.

    Pipe 58.44005 + 61.1897 = 119.62975, parts 241.15: 360.77975; with 1175.85 and 197 materials 1733.62975.
    Sundries 3.5 % of 360.77975 = 12.62729125. Labour 189.75 + 137.55 + 65 + 62.33333... + 23.375 = 478.00833...
    Cost 2224.265374583..., margin 17.5 % of it 389.246440552..., fees 132.5: 2746.011815135.... The tax
    in it is 5/105 of it, 130.762467387...
    """
    whole = quoted(
        ("AUD", "KWD"),
        ("{by: line, half: up, total-to: 0.05}", "{by: total, half: even}"),
        ("GST, rate: 10 %", "VAT, rate: 5 %, included: yes"),
    )
    sums = (whole.materials, whole.sundries, whole.labour, whole.margin, whole.fees, whole.tax, whole.rounding)
    assert list(map(str, sums)) == ["1733.630", "12.627", "478.008", "389.246", "132.500", "130.762", "0.000"]
    assert str(whole.total) == "2746.012"


def test_money_without_decimals_is_rounded_to_whole_units(quoted):
    """8.558 m at 715 are 6118.97 and 5.933 m at 985 are 5844.005; the tax is whole, and so is the total, to ten."""
    amounts = set(re.findall(r"[0-9]+\.[0-9]{2}\b(?!:)", PRICES)) - {"12.70", "9.52", "0.05"}
    whole = quoted(
        *((amount, amount.replace(".", "")) for amount in sorted(amounts, key=len, reverse=True)),
        ("AUD", "JPY"),
        ("total-to: 0.05", "total-to: 10"),
    )
    assert [str(line.amount) for line in whole.lines[:2]] == ["6119", "5844"]
    assert (whole.tax, whole.total % 10) == (whole.tax.to_integral_value(), 0)


def test_the_digits_of_a_currency_are_those_of_iso_4217():
    """Spot values of List one; how many there are of each."""
    assert [currencies()[code] for code in ("AUD", "EUR", "GBP", "NZD", "USD")] == [2] * 5
    assert [currencies()[code] for code in ("JPY", "KRW", "ISK", "CLP", "VND")] == [0] * 5
    assert [currencies()[code] for code in ("KWD", "BHD", "OMR", "JOD", "TND")] == [3] * 5
    assert sorted(currencies().values()).count(0) == 16
    assert sorted(currencies().values()).count(3) == 7


def test_a_line_without_a_price_makes_the_quote_incomplete(quoted, drawbar):
    """Exit code 1, said in every form; a name of the list that is near is told, and what nothing uses."""
    incomplete = quoted(("  tee: 4.80", "  tea: 4.80"), ("cooker: 512.40, ", ""))
    assert [line.item for line in incomplete.missing] == ["tee", "cooker"]
    assert incomplete.unused == ("each tea",)
    page = " ".join(drawbar("takeoff", "--prices", "prices.yaml", "van.yaml").out.split())
    assert "Add to prices.yaml, as it has no price: each: tee; appliances: cooker." in page
    code, out, err = drawbar("takeoff", "--full", "--prices", "prices.yaml", "van.yaml")
    flat = " ".join(out.split())
    assert code == 1
    assert err == "prices.yaml: 2 lines have no price: the total is incomplete\n"
    assert out.startswith("Van galley (Q-7): INCOMPLETE: 2 lines have no price\n")
    assert "add `tee@as1432-b/12.70: ...` or `tee: ...` under `each`; the list has `tea`." in flat
    assert "add `cooker: ...` under `appliances`, or `none` for not quoted." in flat
    assert "Prices that nothing here uses: each tea." in flat
    document = json.loads(drawbar("takeoff", "--prices", "prices.yaml", "--format", "json", "van.yaml").out)
    (result,) = document["results"]
    assert (result["complete"], result["quote"]["complete"]) == (False, False)
    assert [line["item"] for line in result["quote"]["missing"]] == ["tee", "cooker"]
    assert result["quote"]["unused_prices"] == ["each tea"]


def test_what_is_not_quoted_is_said(quoted):
    """`none` for appliances and bottles is no gap; what the list leaves out beside is told."""
    short = quoted(
        ("appliances: {cooker: 512.40, heater: 388.00, grill: 129.95, urn: 145.50}", "appliances: none"),
        ("bottles: {9 kg: 98.50}", "bottles: none"),
        ("fees: {call-out: 85.00, certificate: 47.50}\n", ""),
        ("sundries: 3.5 %\n", ""),
    )
    assert short.is_complete
    assert str(short.materials) == "360.78"
    assert short.not_quoted == ("appliances", "bottles", "call-out", "certificate", "sundries")


def test_prices_that_no_longer_hold_end_with_1(quoted, drawbar):
    """A list that is valid up to a day makes no quote after it."""
    changes = ("valid: 30 days", "valid: 2026-01-30")
    assert quoted(changes).is_expired
    code, out, _ = drawbar("takeoff", "--prices", "prices.yaml", "--date", "2026-01-31", "van.yaml")
    assert code == 1
    assert out.startswith("Van galley (Q-7): INCOMPLETE: prices held to 2026-01-30\n")
    assert drawbar("takeoff", "--prices", "prices.yaml", "--date", "2026-01-30", "van.yaml").code == 0


def test_several_jobs_have_their_fees_each(quoted):
    """Two vans: twice the lines by the job and by the time, and twice the bottles."""
    single = quoted()
    double = quote(
        takeoff_of(replace(single.takeoff.needs, jobs=single.takeoff.needs.jobs * 2)), single.prices, date=DAY
    )
    assert double.fees == 2 * single.fees
    assert {line.item: line.quantity for line in double.lines}["tightness test"] == 80


def test_pipe_by_the_foot_is_quoted_in_feet(quoted):
    """8.558 m are 28.077 ft; at 2.18 a foot 61.20786, 61.21."""
    line = quoted(("as1432-b/9.52: 7.15", "as1432-b/9.52: {price: 2.18, per: ft}")).lines[0]
    assert (str(line.quantity), line.unit, str(line.amount)) == ("28.077", "ft", "61.21")
