"""When a machine is wanted, and how one machine answers what is wanted of it more than once."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

from app.engine.rows import CycleMs


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch in which a machine is wanted.

    cycle: how it comes and goes meanwhile; None for all the time (or as its own stages say).
    run: place of the run it belongs to, -1 for none. load: what it shares its cycle with, -1 for nothing.
    """

    begin_ms: int
    end_ms: int
    cycle: CycleMs | None
    run: int
    load: int
    set_off: bool


def with_loads(spans: Iterable[Span], numbers: Iterator[int]) -> Iterator[Span]:
    """Spans of one machine, those that share no cycle as loads with numbers of their own.

    Those that overlap or touch and come and go alike are one load: it is one machine. What follows a cycle that is
    not its own is as long on as what set it off says, so spans set off by two stay two loads, though they touch.
    """
    last: dict[CycleMs | None, Span] = {}
    for span in sorted(spans, key=lambda span: span.begin_ms):
        if span.load < 0:
            before = last.get(span.cycle)
            goes_on = before is not None and span.begin_ms <= before.end_ms
            span = replace(span, load=before.load if before is not None and goes_on else next(numbers))
            if before is None or not goes_on or span.end_ms > before.end_ms:
                last[span.cycle] = span
        yield span


def one_machine(spans: Iterable[Span]) -> Iterator[Span]:
    """Spans of one machine as it really runs: overlapping or touching ones of one load are one.

    Where they differ, what runs throughout wins, then what is on longest, then what may be on longest at most, then
    what comes most often, then what was wanted first, then for longest.
    """
    ways: dict[tuple[float, int, int], list[Span]] = {}
    for span in sorted(spans, key=lambda span: (span.begin_ms, -span.end_ms)):
        ways.setdefault(_rank(span.cycle), []).append(span)
    current = None
    # The way that wins comes first, so that each later one only fills what is left.
    for begin_ms, end_ms, best in _winners([ways[rank] for rank in sorted(ways, reverse=True)]):
        if current is not None and (current.end_ms, current.cycle, current.load) == (begin_ms, best.cycle, best.load):
            current = replace(current, end_ms=end_ms)
        else:
            if current is not None:
                yield current
            current = replace(best, begin_ms=begin_ms, end_ms=end_ms)
    if current is not None:
        yield current


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


def _rank(cycle: CycleMs | None) -> tuple[float, int, int]:
    return (float("inf"), 0, 0) if cycle is None else (cycle.on_ms, cycle.longest_ms, -cycle.period_ms)
