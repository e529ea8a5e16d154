"""When a machine is wanted, and how one machine answers what is wanted of it more than once."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from itertools import pairwise

from app.engine.rows import CycleMs


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch in which a machine is wanted.

    cycle: how it comes and goes meanwhile; None for all the time (or as its own stages say).
    run: place of the run it belongs to, -1 for none. load: what it shares its cycle with, -1 for nothing.
    wanted: as what it was wanted that is now a part of how one machine runs; None where it is that itself.
    """

    begin_ms: int
    end_ms: int
    cycle: CycleMs | None
    run: int
    load: int
    set_off: bool
    wanted: "Span | None" = field(default=None, compare=False)


def one_machine(spans: Iterable[Span]) -> Iterator[Span]:
    """Spans of one machine as it really runs: overlapping or touching ones are one.

    Where they differ, what runs throughout wins, then the longest time on, then what was wanted first. What follows
    a cycle that is not its own is as long on as what set it off says: spans set off by two are two loads, though
    they touch and come and go alike.
    """
    ways: dict[float, list[Span]] = {}
    for span in sorted(spans, key=lambda span: span.begin_ms):
        ways.setdefault(_on_ms(span.cycle), []).append(span)
    current = winner = None
    # The way that wins comes first, so that each later one only fills what is left.
    for begin_ms, end_ms, best in _winners([ways[on_ms] for on_ms in sorted(ways, reverse=True)]):
        if current is not None and winner is not None and current.end_ms == begin_ms and _goes_on(winner, best):
            current = replace(current, end_ms=end_ms)
        else:
            if current is not None:
                yield current
            current = replace(best, begin_ms=begin_ms, end_ms=end_ms, wanted=best)
        winner = best
    if current is not None:
        yield current


def _goes_on(before: Span, after: Span) -> bool:
    """Whether a span that touches another is the same run."""
    return before is after or (before.cycle == after.cycle and before.load < 0 and after.load < 0)


def _winners(ways: list[list[Span]]) -> Iterator[tuple[int, int, Span]]:
    """Between any two edges, the first span of the first way that has one there; spans in order of their begins."""
    edges = sorted({edge for way in ways for span in way for edge in (span.begin_ms, span.end_ms)})
    at = [0] * len(ways)
    for begin_ms, end_ms in pairwise(edges):
        for number, way in enumerate(ways):
            while at[number] < len(way) and way[at[number]].end_ms <= begin_ms:
                at[number] += 1
            if at[number] < len(way) and way[at[number]].begin_ms <= begin_ms:
                yield begin_ms, end_ms, way[at[number]]
                break


def _on_ms(cycle: CycleMs | None) -> float:
    return float("inf") if cycle is None else cycle.on_ms
