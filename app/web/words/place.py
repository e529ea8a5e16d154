"""Where a household is, where that was not told or cannot be."""

from app.household.household import Site
from app.household.place import city_of, place_told, sun_off_h

_ROUGH = "Where it is was not told: the sun is roughly that of {city}, after which its time zone is named."
_NOWHERE = "Where it is was not told: the sun is that of 0\u00b0 N 0\u00b0 E, on the equator, and is wrong here."
_OFF = (
    "Place and time zone do not go together: the sun would stand highest some {hours:.0f} hours {side} noon by the"
    " clock. One of them is wrong."
)


def place_words(site: Site) -> str:
    """What is to be said of the place; empty where it was told and can be."""
    told = place_told(site)
    if told == "nowhere":
        return _NOWHERE
    if off_h := sun_off_h(site):
        return _OFF.format(hours=abs(off_h), side="after" if off_h > 0 else "before")
    return _ROUGH.format(city=city_of(site.timezone)) if told == "rough" else ""
