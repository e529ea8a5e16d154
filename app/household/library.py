"""The built-in library: typical appliances and machines, every figure with its spread and its source.

The entries lie in `typical/`, one file for each group, beside the list of published sources.
"""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Annotated, Any, Literal

from pydantic import Field

from app.household.appliance import Appliance
from app.household.fields import Id, Pair, Part, Text
from app.household.figures import COMMON_PRACTICE, OWN_ESTIMATE, Figure, Telling, told
from app.household.lookup import rank
from app.household.supply import Inverter

Volts = Literal[120, 230, 240]
Hazard = Literal["medical_device", "no_volt_release", "not_unattended", "wait_before_restart"]

GROUPS = ("kitchen", "cooling", "laundry", "water", "heating", "living", "office", "workshop", "garden", "medical")
# Between 100 to 127 V and 200 to 240 V, the two voltages of the world's sockets.
_HIGH_FROM_V = 180
_COPY = re.compile(r"-\d+$")  # what tells a second one from the first
_WORD = re.compile(r"[^\W\d_]+")
_ALARMS = frozenset({"alarm", "alarms", "siren", "sirens", "medicine", "medicines", "insulin"})


class Publication(Part):
    """A published source: what it is, what it covers, and in what form its figures were read."""

    key: Id
    title: Text
    publisher: Text
    year: Text | None = None
    covers: Text
    read: Text


class _Written(Part):
    """An entry as it stands in its file."""

    id: Id
    name: Text
    words: Annotated[tuple[Text, ...], Pair, Field(min_length=1)]
    volts: Annotated[tuple[Volts, ...], Pair, Field(min_length=1)]
    help: Text
    cautions: Annotated[tuple[Hazard, ...], Pair] = ()
    appliance: dict[str, Any]
    figures: Annotated[tuple[Telling, ...], Pair, Field(min_length=1)]


@dataclass(frozen=True, slots=True)
class Entry:
    """A typical appliance.

    words: what else people call it; volts: of the sockets it is made for; help: where its own figure is found.
    figures: every number of its stages; appliance: ready for a household, on no circuit yet.
    """

    id: str
    name: str
    group: str
    words: tuple[str, ...]
    volts: tuple[Volts, ...]
    help: str
    cautions: tuple[Hazard, ...]
    figures: tuple[Figure, ...]
    appliance: Appliance

    @property
    def rests_on(self) -> str:
        """What its largest draw rests on: a source's key, or one of the two ways to have none."""
        return _largest_draw(self.figures).source

    @property
    def published(self) -> bool:
        """Whether its largest draw has a published source."""
        return self.rests_on not in (COMMON_PRACTICE, OWN_ESTIMATE)

    @property
    def brings(self) -> tuple[str, ...]:
        """Ids of the entries its stages set off; a household needs them too."""
        called = (one.appliance for stage in self.appliance.stages for one in stage.sets_off)
        return tuple(dict.fromkeys(called))


@lru_cache(maxsize=1)
def entries() -> tuple[Entry, ...]:
    """The whole library, group by group."""
    return tuple(_read())


def entry(entry_id: str) -> Entry:
    """One entry.

    Raises KeyError for an id that is not there.
    """
    return _by_id()[entry_id]


def begun_as(appliance_id: str) -> Entry | None:
    """The entry an appliance of a household began as, by its id; None where it began otherwise."""
    return _by_id().get(_COPY.sub("", appliance_id))


@lru_cache(maxsize=1024)
def is_vital(appliance_id: str, name: str) -> bool:
    """Whether somebody's health or safety hangs on it: a medical device of the library, or by what it is called."""
    entry = begun_as(appliance_id)
    if entry is not None and "medical_device" in entry.cautions:
        return True
    return not _vital_words().isdisjoint(_WORD.findall(f"{appliance_id} {name}".lower()))


@lru_cache(maxsize=1)
def _vital_words() -> frozenset[str]:
    """Words that say so: of alarms and medicine, and those by which medical devices of the library are found."""
    of_devices = (one.words for one in entries() if "medical_device" in one.cautions)
    return _ALARMS | {word for words in of_devices for word in words}


def search(text: str, sockets: frozenset[Volts] | None = None) -> tuple[Entry, ...]:
    """The entries that fit a text, best first, those as good in the library's order; all for an empty text.

    sockets: only what is made for one of these; see `sockets_of`.
    """
    found = []
    for one in entries():
        if sockets is None or not sockets.isdisjoint(one.volts):
            place = rank(text, one.name, (*one.words, one.group))
            if place is not None:
                found.append((place, one))
    return tuple(one for _, one in sorted(found, key=lambda pair: pair[0]))


def sockets_of(inverter: Inverter) -> frozenset[Volts]:
    """The voltages of a household's sockets."""
    return sockets_at(inverter.ac_voltage, inverter.legs)


def sockets_at(mains_v: float, legs: int) -> frozenset[Volts]:
    """The voltages of the sockets of such mains."""
    if legs == 2:
        return frozenset({120, 240})
    return frozenset({230 if mains_v >= _HIGH_FROM_V else 120})


@lru_cache(maxsize=1)
def sources() -> tuple[Publication, ...]:
    """The published sources the figures name."""
    return tuple(Publication.model_validate(one) for one in _document("sources")["sources"])


@lru_cache(maxsize=1)
def _by_id() -> dict[str, Entry]:
    return {one.id: one for one in entries()}


def _document(name: str) -> dict[str, Any]:
    text = files("app.household").joinpath("typical", f"{name}.json").read_text(encoding="utf-8")
    document: dict[str, Any] = json.loads(text)
    return document


def _read() -> Iterator[Entry]:
    titles = {one.key: f"{one.title} ({one.publisher})" for one in sources()}
    for name in GROUPS:
        document = _document(name)
        for given in document["entries"]:
            written = _Written.model_validate(given)
            figures = told(written.appliance["stages"], written.figures)
            yield Entry(
                id=written.id,
                name=written.name,
                group=document["group"],
                words=written.words,
                volts=written.volts,
                help=written.help,
                cautions=written.cautions,
                figures=figures,
                appliance=_appliance(written, figures, titles),
            )


def _appliance(written: _Written, figures: tuple[Figure, ...], titles: dict[str, str]) -> Appliance:
    """As it goes into a household: its uncertainty is that of its largest draw."""
    largest = _largest_draw(figures)
    kinds = {COMMON_PRACTICE: "common practice", OWN_ESTIMATE: "own"}
    source = {"kind": kinds.get(largest.source, "published"), "text": _said(largest, figures, titles)}
    told_of_it = {"basis": "typical", "uncertainty": largest.spread, "source": source}
    return Appliance.model_validate({"id": written.id, "name": written.name, **told_of_it, **written.appliance})


def _largest_draw(figures: tuple[Figure, ...]) -> Figure:
    return max((figure for figure in figures if figure.path.endswith(".watts")), key=lambda figure: figure.value)


_SAID = {
    "watts": "watts", "duration_s": "length", "power_factor": "power factor", "cycle": "on and off",
    "start": "start", "water_l": "water", "sets_off": "what it sets off",
}  # fmt: skip


def _said(largest: Figure, figures: tuple[Figure, ...], titles: dict[str, str]) -> str:
    """What rests on what, in one note, the largest draw first: `Watts: a title. Start: own estimate.`"""
    kinds: dict[str, dict[str, None]] = {largest.source: {"watts": None}}
    for figure in figures:
        kind = figure.path.split(".")[1].partition("[")[0]
        kinds.setdefault(figure.source, {})[_SAID[kind]] = None
    lines = (f"{', '.join(of)}: {titles.get(source, source)}." for source, of in kinds.items())
    return " ".join(line[0].upper() + line[1:] for line in lines)
