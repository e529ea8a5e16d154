"""Everything that cannot be is refused in one line that names the field and says what would be right."""

import pytest

from tests.household.sample import put, spoiled

CASES = [
    ("supply.inverter.rated_va", -5000, "supply.inverter.rated_va: -5000 is too small; give a number above 0"),
    ("appliances.0.stages.0.watts", -1, "appliances[0].stages[0].watts: -1 is too small; give a number of at least 0"),
    ("appliances.0.stages.0.watts", 1e9, "appliances[0].stages[0].watts: 1000000000.0 is too large; give a number of at most 1000000.0"),
    ("appliances.0.stages.0.watts", "2 kW", "appliances[0].stages[0].watts: give a number"),
    ("appliances.0.stages.0.watts", True, "appliances[0].stages[0].watts: give a number"),
    ("appliances.0.stages.0.power_factor", 0, "appliances[0].stages[0].power_factor: 0 is too small; give a number above 0"),
    ("appliances.0.stages.0.power_factor", 1.2, "appliances[0].stages[0].power_factor: 1.2 is too large; give a number of at most 1"),
    ("appliances.0.stages.0.power_factor_kind", "odd", "appliances[0].stages[0].power_factor_kind: 'odd' is not known here; give 'lagging', 'leading' or 'distortion'"),
    ("appliances.0.stages.0.watt", 5, "appliances[0].stages[0].watt: is not a field of the household file, version 1; leave it out or check its spelling"),
    ("appliances.5.stages.0.cycle", {"on_s": 900, "period_s": 600}, "appliances[5].stages[0].cycle.on_s: on_s is 900 but the whole cycle takes only period_s 600; on_s must not be longer"),
    ("appliances.5.stages.0.cycle", {"on_s": 900, "period_s": 2700, "longest_on_s": 60}, "appliances[5].stages[0].cycle.longest_on_s: longest_on_s is 60, shorter than the usual on_s 900; it must be at least that"),
    ("appliances.4.stages.0.start.va", 1000, "appliances[4].stages[0].start.va: start.va is 1000 VA, below the running draw of 1153.8 VA; a start draws at least that"),
    ("appliances.5.stages.0", {"duration_s": None, "watts": 100, "cycle": {"on_s": 0.1, "period_s": 0.3}, "start": {"va": 300, "power_factor": 0.5, "duration_s": 0.4}}, "appliances[5].stages[0].start.duration_s: start.duration_s is 0.4 but the whole cycle takes only cycle.period_s 0.3; make the start shorter or the cycle longer"),
    ("appliances.4.stages.0.start", {"va": 3800, "duration_s": 1}, "appliances[4].stages[0].start.power_factor: is missing; it is required"),
    ("scenarios.0.runs.0.start", "25:00", "scenarios[0].runs[0].start: give a time of day from 00:00 to 23:59, as HH:MM or HH:MM:SS"),
    ("scenarios.0.runs.0.start", 8, "scenarios[0].runs[0].start: give a time of day from 00:00 to 23:59, as HH:MM or HH:MM:SS"),
    ("scenarios.0.date", "2026-02-30", "scenarios[0].date: give a day as YYYY-MM-DD, from 1970 to 2200"),
    ("scenarios.0.runs.0.appliance", "samovar", "scenarios[0].runs[0].appliance: there is no appliance 'samovar'; there are: kettle, saw, extractor, washer, pump, fridge"),
    ("scenarios.0.runs.0.appliance", "fridge", "scenarios[0].runs[0].appliance: 'Fridge' is always on; it needs no run"),
    ("scenarios.0.runs.1.duration_s", None, "scenarios[0].runs[1].duration_s: say how long 'Bandsaw' runs; its stage has no length"),
    ("scenarios.0.runs.2.duration_s", 60, "scenarios[0].runs[2].duration_s: the programme of 'Washer' has 2 stages with lengths of their own; leave duration_s out"),
    ("scenarios.0.runs.0.after", "x", "scenarios[0].runs[0].after: there is no run 'x'; there are: k, s, w"),
    ("scenarios.0.off", ["toaster"], "scenarios[0].off[0]: there is no appliance 'toaster'; there are: kettle, saw, extractor, washer, pump, fridge"),
    ("any_time", ["toaster"], "any_time[0]: there is no appliance 'toaster'; there are: kettle, saw, extractor, washer, pump, fridge"),
    ("appliances.0.circuit", "attic", "appliances[0].circuit: there is no circuit 'attic'; there are: yard, shed"),
    ("appliances.1.stages.0.sets_off.0.appliance", "hoover", "appliances[1].stages[0].sets_off[0].appliance: there is no appliance 'hoover'; there are: kettle, saw, extractor, washer, pump, fridge"),
    ("supply.water.pump", "ram", "supply.water.pump: there is no appliance 'ram'; there are: kettle, saw, extractor, washer, pump, fridge"),
    ("supply.water.taps_between", ["22:30", "06:30"], "supply.water.taps_between: taps_between must begin before it ends, within one day"),
    ("supply.circuits.0.fed_from", "shed", "supply.circuits[0].fed_from: the circuits feed each other in a circle: yard -> shed -> yard"),
    ("supply.circuits.0.fed_from", "mill", "supply.circuits[0].fed_from: there is no circuit 'mill'; there are: yard, shed"),
    ("supply.inverter.overload", [[5500, 1800], [5400, 60]], "supply.inverter.overload: the first number of each point must be larger than the one before: 5400 follows 5500"),
    ("supply.inverter.overload", [[4000, 1800]], "supply.inverter.overload: overload begins at 4000 VA; its first point must lie above rated_va 5000"),
    ("supply.inverter.continuous_w", [[40, 3400], [25, 4000]], "supply.inverter.continuous_w: the first number of each point must be larger than the one before: 25 follows 40"),
    ("supply.inverter.full_load_efficiency", 0.99, "supply.inverter.full_load_efficiency: these efficiencies cannot be true together: losses would shrink towards full load; lower full_load_efficiency, raise peak_efficiency or lower no_load_w"),
    ("supply.inverter.legs", 3, "supply.inverter.legs: 3 is not known here; give 1 or 2"),
    ("supply.battery.peak_discharge_a", 40, "supply.battery.peak_discharge_a: peak_discharge_a is 40 A, below continuous_discharge_a 50 A; it must be at least that"),
    ("supply.battery.modules", 1.5, "supply.battery.modules: 1.5 is not a whole number; give one"),
    ("supply.battery.chemistry", "nickel", "supply.battery.chemistry: 'nickel' is not known here; give 'lfp' or 'lead_acid'"),
    ("version", 2, "version: this program reads version 1; export the file again as version 1"),
    ("format", "recipe", 'format: this is not a household file; format must be "loadstead-household"'),
    ("site.timezone", "Mars/Base", "site.timezone: give a time zone as Area/City, like Europe/Dublin"),
    ("name", "  ", "name: give it a name, such as Lake cabin"),
    ("appliances.0.name", "", "appliances[0].name: give it a name, such as Coffee grinder"),
    ("scenarios.1.name", " ", "scenarios[1].name: give it a name, such as Rainy day"),
    ("supply.circuits.0.id", " ", "supply.circuits[0].id: give a text that is not empty"),
    ("scenarios.1.parent", "gone", "scenarios[1].parent: there is no plan 'gone'; name one of this household's plans"),
    ("scenarios.0.parent", "what-if", "scenarios[0].parent: the parents go in a circle: day -> what-if -> day"),
    ("scenarios.1.cloud_oktas", 3, "scenarios[1].cloud_oktas: this plan has a parent; give it as changes.day.cloud_oktas"),
    ("scenarios.1.changes.day", {"cloud": 3}, "scenarios[1].changes.day.cloud: is not a field of the household file, version 1; leave it out or check its spelling"),
    ("scenarios.0.changes", {"runs": {"k": {}}}, "scenarios[0].changes.runs: only a plan with a parent changes these; name the parent"),
    ("scenarios.1.changes.supply", {"inverter": {"rated_va": 9000}}, "scenarios[1].changes.supply.inverter.overload: overload begins at 5500 VA; its first point must lie above rated_va 9000"),
    ('scenarios.0.date', '2026-W20-2', 'scenarios[0].date: give a day as YYYY-MM-DD, from 1970 to 2200'),
    ('scenarios.0.runs.0.start', '1٣:00', 'scenarios[0].runs[0].start: give a time of day from 00:00 to 23:59, as HH:MM or HH:MM:SS'),
    ('supply.inverter.legs', True, "supply.inverter.legs: 'true' is not known here; give 1 or 2"),
    ('scenarios.1.changes.day', {'runs': None}, 'scenarios[1].changes.day.runs: is not a field of the household file, version 1; leave it out or check its spelling'),
    ('colour', None, 'colour: is not a field of the household file, version 1; leave it out or check its spelling'),
    ('bo\ngus', 1, '"bo\\ngus": is not a field of the household file, version 1; leave it out or check its spelling'),
    ('any_time', ['fridge'], "any_time[0]: 'Fridge' is always on; it cannot be an any-time load"),
    ('any_time', ['saw'], "any_time[0]: 'Bandsaw' is an any-time load; give its stage a duration_s"),
    ('scenarios.1.changes.appliances.0', {'id': 'kettle', 'name': 'Kettle', 'stages': [{'watts': 5}]}, "scenarios[1].changes.appliances[0]: 'Kettle' is an any-time load; give its stage a duration_s"),
    ('scenarios.1.changes.runs.k', {'start': 'soon'}, 'scenarios[1].changes.runs.k.start: give a time of day from 00:00 to 23:59, as HH:MM or HH:MM:SS'),
    ('scenarios.1.changes.runs.new', {'appliance': 'samovar', 'start': '10:00'}, "scenarios[1].changes.runs.new.appliance: there is no appliance 'samovar'; there are: kettle, saw, extractor, washer, pump, fridge"),
    ('appliances.0.stages.0.power_factor', 1e-200, 'appliances[0].stages[0].power_factor: 1e-200 is too small; give a number of at least 0.001'),
]  # fmt: skip


@pytest.mark.parametrize(("path", "value", "line"), CASES, ids=[f"{path}={value}"[:60] for path, value, _ in CASES])
def test_a_bad_value_is_named_and_said_what_would_be_right(path: str, value: object, line: str) -> None:
    """The first line of what is said about a spoiled field."""
    assert line in spoiled(put(path, value))


def test_all_faults_are_said_at_once() -> None:
    """Three bad fields make three lines."""

    def change(document: dict) -> None:  # type: ignore[type-arg]
        put("appliances.0.stages.0.watts", -1)(document)
        put("scenarios.0.runs.0.start", "soon")(document)
        put("supply.battery.reserve", 2)(document)

    assert len(spoiled(change)) == 3


def test_runs_of_one_machine_that_overlap_are_refused() -> None:
    """The later run is named, with the time from which it could run."""
    double = {"id": "k2", "appliance": "kettle", "start": "08:02"}

    lines = spoiled(lambda document: document["scenarios"][0]["runs"].append(double))

    assert lines[0] == (
        "scenarios[0].runs[3].start: 'Kettle' is one machine: its run at 08:02 would begin before the one from 08:00"
        " ends at 08:03; begin it at 08:03 or later"
    )


def test_runs_that_touch_or_are_off_do_not_overlap() -> None:
    """A run may begin as another ends, and a run that is off is not there."""
    touching = {"id": "k2", "appliance": "kettle", "start": "08:03"}
    resting = {"id": "k3", "appliance": "kettle", "start": "08:02", "on": False}

    assert spoiled(lambda document: document["scenarios"][0]["runs"].extend([touching, resting])) == ()


def test_a_circle_of_follow_ons_is_refused_with_its_names() -> None:
    """The saw sets off the extractor, which sets off the saw."""
    lines = spoiled(put("appliances.2.stages.0.sets_off", [{"appliance": "saw"}]))

    assert "appliances[1].stages: these set each other off in a circle: Bandsaw -> Extractor -> Bandsaw" in lines


def test_a_pump_that_draws_its_own_water_is_a_circle() -> None:
    """The vessel would start what empties it."""
    lines = spoiled(put("appliances.4.stages.0", {"duration_s": 60, "watts": 900, "water_l": 5}))

    assert any("circle: Pump -> Pump" in line for line in lines)


@pytest.mark.parametrize("extra", [{"duration_s": 60, "watts": 5}, {"watts": 5}])
def test_a_follow_on_set_off_twice_has_one_stage(extra: dict) -> None:  # type: ignore[type-arg]
    """Set off by two stages, a programme of two would be two machines."""

    def change(document: dict) -> None:  # type: ignore[type-arg]
        document["appliances"][2]["stages"] = [{"duration_s": 60, "watts": 900}, {"duration_s": 60, "watts": 5}]
        document["appliances"][3]["stages"][1]["sets_off"] = [{"appliance": "extractor"}]

    assert any("must have exactly one stage" in line for line in spoiled(change))


@pytest.mark.parametrize("point", [[6000, -1], [6000, 0], [6000, "a"], [6000], [6000, 5, 5, 5]])
def test_a_bad_overload_point_is_one_fault(point: list[object]) -> None:
    """Seconds to cool again may be left out; whatever else is wrong is said once."""
    assert len(spoiled(put("supply.inverter.overload.0", point))) == 1


def test_a_chain_that_comes_and_goes_leads_to_one_stage() -> None:
    """The pump comes and goes, so what it sets off has one stage, and so has what that sets off."""

    def change(document: dict) -> None:  # type: ignore[type-arg]
        document["appliances"][4]["stages"][0]["sets_off"] = [{"appliance": "lamp"}]
        document["appliances"] += [
            {"id": "lamp", "name": "Lamp", "stages": [{"watts": 5, "sets_off": [{"appliance": "fan"}]}]},
            {"id": "fan", "name": "Fan", "stages": [{"duration_s": 5, "watts": 9}, {"duration_s": 5, "watts": 1}]},
        ]

    assert any("'Fan' is set off more than once or by something that comes and goes" in one for one in spoiled(change))


def test_what_a_plan_takes_away_is_told_as_the_plans_doing() -> None:
    """A child without circuits leaves the saw on one that is gone."""

    def change(document: dict) -> None:  # type: ignore[type-arg]
        document["scenarios"][1]["changes"]["appliances"] = []

    why = "'Bandsaw' needs it, but there is no circuit 'shed'; there are: none yet"
    way = "give that plan this circuit, or put 'Bandsaw' on another one there"
    assert spoiled(change)[0] == f"scenarios[1].changes.circuit: {why}; {way}"


def test_a_day_that_the_time_zone_left_out_is_refused_where_it_is_given() -> None:
    """An island that crossed the date line went from one day to the day after the next; elsewhere that day was."""

    def change(document: dict) -> None:  # type: ignore[type-arg]
        document["site"]["timezone"] = "Pacific/Apia"
        document["scenarios"][1]["date"] = "2011-12-30"

    why = "Pacific/Apia left 2011-12-30 out of its calendar; give another day"
    assert spoiled(change) == (f"scenarios[1].date: {why}",)
    assert spoiled(put("scenarios.1.date", "2011-12-30")) == ()


def test_html_in_a_name_is_only_a_name() -> None:
    """Names are texts; pages escape them."""
    assert spoiled(put("appliances.0.name", "<script>alert(1)</script>")) == ()


@pytest.mark.parametrize("name", ["line\nbreak", "\ud800", "\x00"])
def test_signs_that_cannot_be_shown_are_refused(name: str) -> None:
    """A control character or half a character is no part of a name."""
    expected = "appliances[0].name: leave out line breaks, control characters and half characters"

    assert expected in spoiled(put("appliances.0.name", name))
