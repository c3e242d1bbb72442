"""Price lists: what is read, in decimals, and what is said of a list that is wrong."""

from decimal import Decimal

import pytest

from drawbar.materials.money import NO_CURRENCY
from drawbar.materials.prices import read_price_list
from drawbar.problems import Problems
from jobs import CATALOGUE

GOOD = """\
currency: AUD
per-metre: {as1432-b/12.70: 9.80, bore 10.9 mm: 11}
each:
  elbow-90: 2.5
  elbow-90@as1432-b/12.70: 3.10
  short-hose@hose/8, 1.5 m: 46.00
labour: {per-joint: 6.50, per-metre: 14.00}
waste: 5 %
margin: 17.5 %
tax: 10%
"""


@pytest.fixture
def read(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)

    def of(text):
        (tmp_path / "prices.yaml").write_text(text)
        return read_price_list("prices.yaml", CATALOGUE)

    return of


def test_a_list_is_read_in_exact_decimals(read):
    """No price and no share is a float, and 12.70 keeps its zero as a name."""
    prices = read(GOOD)
    assert prices.currency == "AUD"
    assert prices.per_metre("as1432-b/12.70") == Decimal("9.80")
    assert prices.per_metre("bore 10.9 mm") == Decimal(11)
    assert prices.per_metre("as1432-b/12.7") is None
    assert (prices.labour_per_joint, prices.labour_per_metre) == (Decimal("6.50"), Decimal("14.00"))
    assert (prices.waste, prices.margin, prices.tax) == (Decimal("0.05"), Decimal("0.175"), Decimal("0.1"))
    figures = [
        *(price.amount for price in (*prices.pipes.values(), *prices.parts.values())),
        prices.waste,
        prices.margin,
        prices.tax,
    ]
    assert {type(figure) for figure in figures} == {Decimal}


def test_the_price_of_a_size_goes_before_that_of_any_size(read):
    """And where neither is there, there is none."""
    prices = read(GOOD)
    assert prices.fitting("elbow-90", "as1432-b/12.70") == Decimal("3.10")
    assert prices.fitting("elbow-90", "as1432-b/9.52") == Decimal("2.5")
    assert prices.fitting("short-hose", "hose/8, 1.5 m") == Decimal("46.00")
    assert prices.fitting("short-hose", "hose/8, 2 m") is None
    assert prices.fitting("tee", "as1432-b/12.70") is None


def test_what_a_list_leaves_out_is_none_and_not_zero(read):
    """One pipe priced, and nothing else said."""
    prices = read("per-metre: {as1432-b/12.70: 9.80}\n")
    assert prices.currency == NO_CURRENCY
    assert prices.parts == {}
    left = (prices.waste, prices.margin, prices.tax, prices.labour_per_joint, prices.labour_per_metre)
    assert left == (None,) * 5


AMOUNT = "write an amount as `12.50`"
LEAVE = "write what it costs, or leave the line out"
NO_DECIMALS = "no decimals in its currency; round it to a whole number"
THREE_DECIMALS = "three decimals; round it to the third decimal"
PIECES = "write `each`, or how many as `10`"
VALID = "write `30 days`, or a date as `2026-06-30`"
PERCENT = "write a percentage from 0 % to 100 %, as `5 %`"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("each:\n  tee: 0\n", f"2:8: each.tee: `0` is zero; {LEAVE}"),
        ("each:\n  tee: 0.00\n", f"2:8: each.tee: `0.00` is zero; {LEAVE}"),
        ("each:\n  tee: -4.80\n", f"2:8: each.tee: `-4.80` is below zero; {LEAVE}"),
        ("each:\n  tee: 4.805\n", "2:8: each.tee: `4.805` has more than two decimals; round it to the cent"),
        ("each:\n  tee: cheap\n", f"2:8: each.tee: `cheap` is not an amount; {AMOUNT}"),
        ("each:\n  tee: .nan\n", f"2:8: each.tee: `.nan` is not an amount; {AMOUNT}"),
        ("each:\n  tee: inf\n", f"2:8: each.tee: `inf` is not an amount; {AMOUNT}"),
        ("each:\n  tee: 1e3\n", f"2:8: each.tee: `1e3` is not an amount; {AMOUNT}"),
        ("each:\n  tee: ٣\n", f"2:8: each.tee: `٣` is not an amount; {AMOUNT}"),
        ("each:\n  tee:\n", f"2:7: each.tee: is empty; {AMOUNT}"),
        ("each:\n  tee: [4.80]\n", f"2:8: each.tee: is a list; {AMOUNT}"),
        (
            "each:\n  tee: 4,80\n",
            "2:8: each.tee: `4,80` is not an amount; write the decimals after a point, and no comma between thousands",
        ),
        ("each:\n  tee: $4.80\n", "2:8: each.tee: `$4.80` is not a bare amount; name the money once, in `currency:`"),
        (
            "each:\n  tee: 4.80 EUR\n",
            "2:8: each.tee: `4.80 EUR` is not a bare amount; name the money once, in `currency:`",
        ),
        ("each:\n  tee: 1000000000.01\n", "2:8: each.tee: `1000000000.01` can't be right; write up to 1,000,000,000"),
        (
            "each: {tee: 4.80, tee: 5.10}\n",
            "1:19: each.tee: stands here a second time; give each its own name",
        ),
        ("each: {tee@: 4.80}\n", "1:8: each.tee@: is not NAME@SIZE; write for example `elbow-90@as1432-b/12.70`"),
        ("per-meter: {as1432-b/12.70: 9.80}\n", "1:1: per-meter: is not a key here; did you mean `per-metre`?"),
        ("labour: {joint: 6.50}\n", "1:10: labour.joint: is not a key here; did you mean `per-joint`?"),
        (
            "per-metre: {as1432-b: 9.80}\n",
            "1:13: per-metre.as1432-b: is not a pipe; write `FAMILY/SIZE`, as `as1432-b/12.70`",
        ),
        (
            "per-metre: {as1432-b/auto: 9.80}\n",
            "1:13: per-metre.as1432-b/auto: names no size; give each size its own price",
        ),
        ("tax: 10\n", "1:6: tax: `10` has no unit; write % after it"),
        ("tax: -1 %\n", f"1:6: tax: `-1 %` can't be right; {PERCENT}"),
        ("tax: 101 %\n", f"1:6: tax: `101 %` can't be right; {PERCENT}"),
        ("each:\n  tee: +4.805\n", "2:8: each.tee: `+4.805` has more than two decimals; round it to the cent"),
        ("tax: 9.125 %\n", f"1:6: tax: `9.125 %` has more than two decimals; {PERCENT}"),
        ("tax: 10 kPa\n", f"1:6: tax: `10 kPa` is not a percentage; {PERCENT}"),
        (
            "currency: dollars\n",
            "1:11: currency: `dollars` is no currency's code by ISO 4217; write three letters, as AUD, EUR, GBP, NZD "
            "or USD",
        ),
        ("currency: aud\n", "1:11: currency: `aud` is no currency's code by ISO 4217; did you mean `AUD`?"),
        ("currency: JPY\neach:\n  tee: 480.5\n", f"3:8: each.tee: `480.5` has more than {NO_DECIMALS}"),
        ("currency: KWD\neach:\n  tee: 1.2345\n", f"3:8: each.tee: `1.2345` has more than {THREE_DECIMALS}"),
        ("each: {tee: {price: 48.00, per: 10 m}}\n", "1:33: each.tee.per: `10 m` can't stand here; " + PIECES),
        ("each: {tee: {per: 10}}\n", "1:13: each.tee: `price` is missing; write `price:` and the amount, as `36.00`"),
        ("labour: {test: 30 min}\n", "1:16: labour.test: is a time without a rate; write `per-hour:` beside it"),
        ("tax: {rate: 10 %}\n", "1:6: tax: `name` is missing; write `name:` and what the tax is called, as `GST`"),
        ("valid: 31 June\n", f"1:8: valid: `31 June` is no date and no number of days; {VALID}"),
        ("valid: 2026-06-31\n", f"1:8: valid: `2026-06-31` is no date and no number of days; {VALID}"),
        ("rounding: {half: down}\n", "1:18: rounding.half: `down` is not known here; known here: up, even"),
        (
            "per-metre: {as1432-b/12.7: 9.80}\n",
            "1:13: per-metre.as1432-b/12.7: `12.7` is not a size of as1432-b; did you mean `12.70`?",
        ),
        (
            "per-metre: {as1432/12.70: 9.80}\n",
            "1:13: per-metre.as1432/12.70: `as1432` is not a pipe family of the catalogue; did you mean `as1432-a` or "
            "`as1432-b` or `as1432-c` or `as1432-d`?",
        ),
        (
            "each: {elbow-90@as1432-b/12.7: 2.50}\n",
            "1:8: each.elbow-90@as1432-b/12.7: `12.7` is not a size of as1432-b; did you mean `12.70`?",
        ),
    ],
)
def test_what_is_wrong_is_told_with_its_place_and_what_would_fit(read, text, message):
    """One problem a list."""
    with pytest.raises(Problems) as caught:
        read(text)
    assert str(caught.value) == f"prices.yaml:{message}"


def test_all_problems_of_a_list_are_told_at_once_with_exit_code_2(tmp_path, monkeypatch, drawbar):
    """Nothing goes to standard output, and the job is not even looked for."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "prices.yaml").write_text("each: {tee: 0, elbow-90: x}\nmargin: 20\n")
    code, out, err = drawbar("takeoff", "--prices", "prices.yaml", "job.yaml")
    assert (code, out) == (2, "")
    assert err == (
        f"prices.yaml:1:13: each.tee: `0` is zero; {LEAVE}\n"
        f"prices.yaml:1:26: each.elbow-90: `x` is not an amount; {AMOUNT}\n"
        "prices.yaml:2:9: margin: `20` has no unit; write % after it\n"
    )
