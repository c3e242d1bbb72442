"""Figures with their units: what a script that reckons in other units than SI asks for."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from drawbar import quantities
from drawbar.problems import close_to

if TYPE_CHECKING:
    import pint


def quantity(result: object, name: str) -> pint.Quantity[float]:
    """Return a figure of a result, or of any part of one, as a pint quantity.

    The unit is the one that the figure's name ends in. Whether a pressure is gauge or absolute its name says alone.
    All quantities are of one registry, the project's own, so that they can be reckoned with each other.

    Parameters
    ----------
    result : object
        A job, a result of any call, or a part of either, as a run or a state; or the bare figure itself.
    name : str
        The figure's name, as `drop_pa`.

    Returns
    -------
    pint.Quantity
        The figure with its unit.

    Raises
    ------
    AttributeError
        If the result has no figure of that name.
    ValueError
        If the name ends in no unit, or what stands there is no figure: None where it is not known, or a call.

    Examples
    --------
    >>> import drawbar
    >>> job = drawbar.read_job("examples/harvest-fair-trailer.yaml", sized=True)
    >>> worst = drawbar.check(job).states[0]
    >>> f"{drawbar.quantity(worst, 'margin_pa').to('kPa'):.3f}"
    '0.087 kilopascal'
    >>> f"{drawbar.quantity(job.runs[0].pipe, 'bore_m').to('mm'):.2f}"
    '13.84 millimetre'
    >>> drawbar.quantity(75.0, "gauge_pa").to("mbar").magnitude
    0.75
    """
    kind = type(result).__name__
    value = result
    if not isinstance(result, int | float | Decimal):
        if not hasattr(result, name):
            fit = close_to(name, [known for known in dir(result) if quantities.unit_of_name(known) is not None])
            raise AttributeError(f"{kind} has no {name}" + (f"; {fit}" if fit else ""))
        value = getattr(result, name)
    if quantities.unit_of_name(name) is None:
        raise ValueError(f"{name} ends in no unit, as a figure with a unit does")
    if value is None:
        raise ValueError(f"{name} of this {kind} is not known")
    if callable(value):
        raise ValueError(f"{name} of {kind} is a call; give what it returns in place of the {kind}")
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        raise ValueError(f"{name} of {kind} is no figure")
    return quantities.quantity_of_name(float(value), name)
