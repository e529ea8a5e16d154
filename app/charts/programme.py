"""A picture of an appliance's programme, described: what it draws, stage by stage, from its beginning to its end."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from app.charts.behaviour import PROGRAMME_STAGES
from app.household.appliance import Appliance, SetsOff, Stage

DAY_S, HOUR_S = 86_400, 3600
PERIODS = 3  # of something that comes and goes for as long as it likes


@dataclass(frozen=True, slots=True)
class Step:
    """A stage on the programme's own clock.

    begin_s, end_s: seconds from its beginning. draw_w: while it is on. average_w: less, where it comes and goes.
    start_va: of its start; None without one. water_l: what it takes in.
    """

    name: str
    begin_s: float
    end_s: float
    draw_w: float
    average_w: float
    comes_and_goes: bool
    start_va: float | None
    water_l: float


@dataclass(frozen=True, slots=True)
class Follower:
    """Something the programme sets off. spans_s: when it runs, seconds from the programme's beginning."""

    name: str
    spans_s: tuple[tuple[float, float], ...]
    comes_and_goes: bool


@dataclass(frozen=True, slots=True)
class ProgrammeChart:
    """The programme of one appliance.

    name: the appliance's. key: its behaviour, which is its colour. length_s: what is drawn, followers included.
    open_ended: it has no end of its own; `all_day` where it is always on.
    """

    name: str
    key: str
    steps: tuple[Step, ...]
    followers: tuple[Follower, ...]
    length_s: float
    open_ended: bool
    all_day: bool

    @property
    def highest_w(self) -> float:
        """The highest running draw."""
        return max(step.draw_w for step in self.steps)

    @property
    def highest_va(self) -> float:
        """The largest start; nothing without one."""
        return max((step.start_va or 0 for step in self.steps), default=0)


def programme_chart(appliance: Appliance, known: Mapping[str, Appliance]) -> ProgrammeChart:
    """Describe a programme. known: the household's appliances by id, among which are those it sets off."""
    steps = tuple(_steps(appliance.stages))
    followers = tuple(_followers(appliance.stages, steps, known))
    ends_s = [steps[-1].end_s, *(end_s for one in followers for _, end_s in one.spans_s)]
    family = "prog1" if len(steps) >= PROGRAMME_STAGES else "hand1"
    return ProgrammeChart(
        name=appliance.name,
        key="base" if appliance.always_on else family,
        steps=steps,
        followers=followers,
        length_s=max(ends_s),
        open_ended=appliance.stages[-1].duration_s is None,
        all_day=appliance.always_on,
    )


def told(chart: ProgrammeChart, quantity: Callable[[float, str], str], duration: Callable[[float], str]) -> str:
    """The programme in a sentence, for who cannot see it. quantity: a value with its unit. duration: of seconds."""
    parts = [_told(step, chart, quantity, duration) for step in chart.steps]
    followed = f" It also starts {', '.join(one.name for one in chart.followers)}." if chart.followers else ""
    return f"{chart.name}: {'; '.join(parts)}.{followed}"


def _told(
    step: Step, chart: ProgrammeChart, quantity: Callable[[float, str], str], duration: Callable[[float], str]
) -> str:
    length = duration(step.end_s - step.begin_s)
    lasts = "all day" if chart.all_day else "as long as it runs" if chart.open_ended else f"for {length}"
    words = [f"{step.name} {quantity(step.draw_w, 'W')} {lasts}".strip()]
    if step.comes_and_goes:
        words.append(f"on and off by itself, {quantity(step.average_w, 'W')} on average")
    if step.start_va is not None:
        words.append(f"starting with {quantity(step.start_va, 'VA')}")
    if step.water_l:
        words.append(f"taking in {step.water_l:g} l of water")
    return ", ".join(words)


def _steps(stages: tuple[Stage, ...]) -> Iterator[Step]:
    begin_s = 0.0
    for stage in stages:
        end_s = begin_s + _length_s(stage)
        cycle = stage.cycle
        yield Step(
            name=stage.name or "",
            begin_s=begin_s,
            end_s=end_s,
            draw_w=stage.watts,
            average_w=stage.watts * (cycle.on_s / cycle.period_s if cycle else 1),
            comes_and_goes=cycle is not None,
            start_va=stage.start.va if stage.start else None,
            water_l=stage.water_l,
        )
        begin_s = end_s


def _length_s(stage: Stage) -> float:
    """Its seconds; of one without an end, what is worth showing."""
    if stage.duration_s is not None:
        return stage.duration_s
    return stage.cycle.period_s * PERIODS if stage.cycle else HOUR_S


def _followers(
    stages: tuple[Stage, ...], steps: tuple[Step, ...], known: Mapping[str, Appliance]
) -> Iterator[Follower]:
    called: dict[str, list[tuple[SetsOff, Step]]] = {}
    for stage, step in zip(stages, steps, strict=True):
        for one in stage.sets_off:
            called.setdefault(one.appliance, []).append((one, step))
    for appliance_id, calls in called.items():
        follower = known.get(appliance_id)
        yield Follower(
            name=appliance_id if follower is None else follower.name,
            spans_s=tuple(_span_s(one, step, follower) for one, step in calls),
            comes_and_goes=any(step.comes_and_goes for _, step in calls),
        )


def _span_s(call: SetsOff, step: Step, follower: Appliance | None) -> tuple[float, float]:
    begin_s = step.begin_s + call.after_s
    lengths_s = [None] if follower is None else [stage.duration_s for stage in follower.stages]
    own_s = sum(length_s or 0 for length_s in lengths_s)
    return begin_s, begin_s + (step.end_s - step.begin_s if None in lengths_s else own_s)
