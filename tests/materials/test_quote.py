"""A quote beside one that was worked by hand to the cent."""

from decimal import Decimal

import pytest

from drawbar import api
from drawbar.materials.money import Rounding
from drawbar.materials.prices import read_price_list
from drawbar.materials.quote import materials_of, quote
from drawbar.materials.takeoff import takeoff_of
from van_galley import B9, B12, PRICES, needs, van


@pytest.fixture
def read(tmp_path):
    """Return the price list of a text."""

    def of(text=PRICES):
        (tmp_path / "prices.yaml").write_text(text)
        return read_price_list(str(tmp_path / "prices.yaml"))

    return of


def test_a_quote_by_hand_to_the_cent(read):
    """Worked on paper: each line rounded half up, then materials, labour, margin, tax, total."""
    quoted = quote(takeoff_of(needs(), Decimal("0.05")), read())
    assert [(line.item, line.size, str(line.quantity), str(line.amount)) for line in quoted.lines] == [
        ("pipe", B9, "8.558", "61.19"),  # x 7.15 = 61.1897
        ("pipe", B12, "5.933", "58.44"),  # x 9.85 = 58.44005
        ("ball-valve", B12, "1", "24.90"),
        ("elbow-90", B9, "3", "7.35"),
        ("elbow-90", B12, "3", "9.45"),
        ("tee", B12, "1", "4.80"),
        ("bayonet", "", "1", "38.00"),
        ("coupler", "", "1", "21.55"),
        ("lead", "hose/8, 1.2 m", "1", "46.10"),
        ("regulator", "2.75 kPa, 90 MJ/h", "1", "89.00"),
        ("laying pipe", "", "13.800", "189.75"),  # x 13.75, without waste
        ("joints", "", "21", "137.55"),  # x 6.55
    ]
    assert str(quoted.materials) == "360.78"
    assert str(quoted.labour) == "327.30"
    assert str(quoted.cost) == "688.08"
    assert str(quoted.margin) == "120.41"  # 17.5 % = 120.414
    assert str(quoted.tax) == "80.85"  # 10 % of 808.49 = 80.849
    assert str(quoted.total) == "889.34"
    assert quoted.is_complete


def test_half_a_cent_goes_up_where_a_float_would_go_down():
    """2.675 is 2.67 in floats, and half-even would make 0.125 into 0.12."""
    assert [str(Rounding().rounded(Decimal(text), 2)) for text in ("2.675", "0.125", "1.005", "0.004")] == [
        "2.68",
        "0.13",
        "1.01",
        "0.00",
    ]
    assert f"{2.675:.2f}" == "2.67"


def test_whole_lengths_are_priced_where_pipe_is_bought_so(read):
    """12 m and 6 m by the metre; the coupling has no price and is in no sum."""
    quoted = quote(takeoff_of(needs(), Decimal("0.05"), stock_m=6), read())
    assert [str(line.amount) for line in quoted.lines[:2]] == ["85.80", "59.10"]
    assert [(line.item, line.keys) for line in quoted.missing] == [("coupling", (f"coupling@{B9}", "coupling"))]
    assert not quoted.is_complete
    assert quoted.materials == Decimal("360.78") - Decimal("61.19") - Decimal("58.44") + Decimal("144.90")


def test_a_formed_bend_needs_no_price_but_takes_one(read):
    """It is not missing; if the list prices it, it is charged."""
    quoted = quote(takeoff_of(needs(), Decimal(0)), read(PRICES.replace("each:\n", "each:\n  bend-90: 1.25\n")))
    assert [str(line.amount) for line in quoted.lines if line.item == "bend-90"] == ["2.50"]


def test_margin_and_tax_that_the_list_leaves_out_are_not_added(read):
    """The total is the cost, and no labour is guessed."""
    quoted = quote(takeoff_of(needs(), Decimal("0.05")), read(PRICES[: PRICES.index("labour")]))
    assert (quoted.labour, quoted.margin, quoted.tax) == (0, 0, 0)
    assert str(quoted.total) == "360.78"


def test_the_waste_of_the_list_is_priced_unless_another_is_given(read):
    """889.34 is by hand with the list's 5 %; without waste, by hand too, 8.150 m and 5.650 m come to 881.96."""
    prices = read()
    by_list = api.quote(api.takeoff(van()), prices)
    assert (str(by_list.total), by_list.takeoff.waste) == ("889.34", Decimal("0.05"))
    assert str(quote(takeoff_of(needs()), prices).total) == "889.34"
    for waste in (0, 0.0, Decimal(0)):
        assert str(api.quote(api.takeoff(van(), waste=waste), prices).total) == "881.96"
        assert str(quote(takeoff_of(needs(), waste), prices).total) == "881.96"


def test_stock_length_and_kerf_stand_when_the_waste_of_the_list_is_taken(read):
    """A takeoff whose waste is left open keeps how its pipe is bought: two lengths of 9.52 and one of 12.70."""
    quoted = quote(takeoff_of(needs(), stock_m=6, kerf_m=0.002), read())
    assert [pipe.lengths for pipe in quoted.takeoff.pipes] == [2, 1]
    assert quoted.takeoff.pipes[0].cutting.kerf_um == 2000
    assert quoted.takeoff == takeoff_of(needs(), 0.05, stock_m=6, kerf_m=0.002)


def test_each_job_comes_before_all_together(read):
    """Of three, one that could not be read: two by themselves, then both, with one left out."""
    prices = read()
    results = materials_of([van(), None, needs()], prices, each=True)
    assert [(len(result.takeoff.needs.jobs), result.left_out) for result in results] == [(1, 0), (1, 0), (2, 1)]
    assert [result.quote.takeoff for result in results] == [result.takeoff for result in results]
    assert results[-1].quote == api.quote(api.takeoff(van(), needs()), prices)
    assert materials_of([None]) == []
    with pytest.raises(ValueError, match=r"^there are no jobs to take off$"):
        api.takeoff()
