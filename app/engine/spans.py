"""When a machine is wanted, and how one machine answers what is wanted of it more than once."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
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


def one_machine(spans: Iterable[Span]) -> Iterator[Span]:
    """Spans of one machine as it really runs: overlapping or touching ones are one.

    Where they differ, what runs throughout wins, then the longest time on.
    """
    spans = sorted(spans, key=lambda span: span.begin_ms)
    edges = sorted({span.begin_ms for span in spans} | {span.end_ms for span in spans})
    current: Span | None = None
    for begin_ms, end_ms in pairwise(edges):
        inside = [span for span in spans if span.begin_ms <= begin_ms < span.end_ms]
        if not inside:
            continue
        best = max(inside, key=lambda span: float("inf") if span.cycle is None else span.cycle.on_ms)
        if current is not None and current.end_ms == begin_ms and current.cycle == best.cycle:
            begin_ms, best = current.begin_ms, current
        elif current is not None:
            yield current
        current = Span(begin_ms, end_ms, best.cycle, best.run, best.load, best.set_off)
    if current is not None:
        yield current
