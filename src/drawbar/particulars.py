"""Who did a job, for whom and on what: texts for the sheet and the quote, which no figure depends on."""

from __future__ import annotations

from typing import NamedTuple

LOGO = "logo"
"""The field of a workshop that names a picture's file; all others are text to print."""
NAME = "name"
"""The field that a single text is taken for."""

Fields = tuple[tuple[str, str], ...]


class Particulars(NamedTuple):
    """Workshop, customer, vehicle and installer, each as fields in the order in which they were given.

    Attributes
    ----------
    workshop, customer, vehicle, installer : tuple of (str, str)
        The name of each field, and its text; empty where nothing is given.
    logo : str or None
        The path of the workshop's logo, None where it has none.
    """

    workshop: Fields = ()
    customer: Fields = ()
    vehicle: Fields = ()
    installer: Fields = ()
    logo: str | None = None

    def over(self, other: Particulars) -> Particulars:
        """Return these, with what they leave out taken from others, as a job's over those of a library.

        Parameters
        ----------
        other : Particulars
            What stands where these say nothing.

        Returns
        -------
        Particulars
            The fields of the others keep their places; those that only these have come last.

        Examples
        --------
        >>> Particulars(workshop=(("phone", "2"),)).over(Particulars(workshop=(("business", "A"), ("phone", "1"))))[0]
        (('business', 'A'), ('phone', '2'))
        """
        if self == NONE_GIVEN:
            return other

        def merged(own: Fields, theirs: Fields) -> Fields:
            return tuple({**dict(theirs), **dict(own)}.items())

        return Particulars(
            workshop=merged(self.workshop, other.workshop),
            customer=merged(self.customer, other.customer),
            vehicle=merged(self.vehicle, other.vehicle),
            installer=merged(self.installer, other.installer),
            logo=self.logo or other.logo,
        )


NONE_GIVEN = Particulars()
