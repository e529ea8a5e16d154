"""What a change did and what undoing it would do, in words, out of the line the log keeps of it.

A line says of a run which appliance it is and when it starts, and of a field what became of it; lines of an older log
lack that, and then the present plan is asked.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from app.household.household import Household
from app.household.resolve import Resolved
from app.household.scenario import Run
from app.web.customs import customs_of
from app.web.figures import duration
from app.web.words.links import moment
from app.web.words.parts import part_changed, part_put_back
from app.web.words.plain import listed
from app.web.words.plans import day_name, day_value

if TYPE_CHECKING:
    # Only to say what is told about: the command line makes sentences without a database.
    from app.store.history import Change
    from app.store.stored import StoredHousehold, StoredScenario

Line = Mapping[str, Any]

# What is said of a plan's field, before the value: of having set it, and of setting it back.
_FIELDS = {
    "date": ("Date moved to", "Date back to"),
    "cloud_oktas": ("Sky set to", "Sky back to"),
    "ambient_c": ("Temperatures set to", "Temperatures back to"),
    "start_state_of_charge": ("Battery set to", "Battery back to"),
    "wanted_margin": ("Wanted margin set to", "Wanted margin back to"),
    "expected_yield_wh": ("Expected yield set to", "Expected yield back to"),
    "measured_day": ("Sun set to that of", "Sun back to that of"),
}


def what_it_did(change: Change, stored: StoredHousehold, scenario: StoredScenario, resolved: Resolved) -> str:
    """What was done, without a full stop: `Dryer moved to 12:10`.

    stored, scenario, resolved: the plan on whose page it is said, as it is now.
    """
    return _Telling(stored, scenario, resolved).done(change.command, change.inverse)


def what_undoing_does(change: Change, stored: StoredHousehold, scenario: StoredScenario, resolved: Resolved) -> str:
    """What would be if it were undone, without a full stop: `Dryer back to 11:55`. Parameters as above."""
    return _Telling(stored, scenario, resolved).undone(change.command, change.inverse)


class _Telling:
    """Puts lines of the log into words on one plan's page."""

    def __init__(self, stored: StoredHousehold, scenario: StoredScenario, resolved: Resolved) -> None:
        self._stored = stored
        self._scenario = scenario
        self._resolved = resolved

    def done(self, command: Line, inverse: Line) -> str:
        """What a command did."""
        about = dict(inverse) | dict(command)
        match command["do"]:
            case "set_run_field" | "clear_run_field":
                return self._run_field(command, about, back=False)
            case "add_run":
                return f"{self._run(about)} added"
            case "remove_run":
                return f"{self._run(about)} removed"
            case "place_runs":
                return f"Laundry day: {_runs(about['placed'])} placed"
            case "runs_as_before":
                return f"Laundry day taken back: {_runs(about['placed'])} as before"
            case "set_plan_field" | "clear_plan_field" | "restore_plan_fields" | "take_measured_day":
                return self._plan_field(command, back=False)
            case "add_plan" if source := self._stored.pieces.get(command.get("copy_of", "")):
                return f"Plan {about['name']} copied from {source.document['name']}"
            case "add_plan":
                return f"Plan {about['name']} added"
            case "remove_plan":
                out = f", and its machines out of {_lists(about)}" if about.get("rules") else ""
                return f"Plan {about['name']} deleted{out}"
            case "restore_plan":
                return f"Plan {about['name']} brought back"
            case "plan_as_then":
                return self._then(command)
            case "set_household_name":
                return f"Household renamed to {command['value']}"
            case "replace_household":
                return "Household file brought in"
            case "household_as_before":
                return _as_before(about)
            case "make_real":
                return f"{about['name']} made real: its supply and appliances are the household's"
            case "begin_with":
                count = about["begun"]
                if not count:
                    return "Figures of the supply taken over"
                return f"First figures of the supply taken over, with {count} {'machine' if count == 1 else 'machines'}"
            case "change_what_if":
                return self._what_if(command)
            case "leave_out":
                return f"{what_if_title(command)} left out of this plan{_and_of(command)}"
            case "what_if_as_before":
                return f"{what_if_title(command)} as before, in this plan alone{_and_in(command)}"
            case "change_part":
                return part_changed(command, self._household)
            case "put_back":
                return part_put_back(command)
            case "add_appliance":
                return f"{about['title']} added to the appliances"
            case "remove_appliance":
                return f"{about['title']} taken out of the appliances{_and_of(about)}"
            case "add_weather":
                return f"Sun record {about['title']} brought in"
            case "remove_weather":
                return f"Sun record {about['title']} removed"
            case other:
                return _OF_A_HOUSEHOLD.get(other, "Something else was changed")

    def undone(self, command: Line, inverse: Line) -> str:
        """What the command that undoes it would do."""
        about = dict(command) | dict(inverse)
        match inverse["do"]:
            case "set_run_field" | "clear_run_field":
                return self._run_field(inverse, about, back=True)
            case "add_run":
                return f"{self._run(about)} back on the day"
            case "remove_run":
                return f"{self._run(about)} taken off"
            case "runs_as_before":
                return f"Laundry day: {_runs(about['placed'])} as before"
            case "set_plan_field" | "clear_plan_field" | "restore_plan_fields" | "take_measured_day":
                return self._plan_field(inverse, back=True)
            case "remove_plan":
                return f"Plan {about['name']} taken away"
            case "restore_plan" | "add_plan":
                machines = f", and its machines in {_lists(about)}" if about.get("rules") else ""
                return f"Plan {about['name']} back{machines}"
            case "plan_as_then":
                return self._then(inverse)
            case "set_household_name":
                return f"Household named {inverse['value']} again"
            case "household_as_before":
                return _as_before(about)
            case "what_if_as_before":
                return f"{what_if_title(about)} as before, in this plan alone{_and_in(about)}"
            case "replace_household":
                return "Household as the file has it"
            case "put_back":
                return self._put_back(command, inverse)
            case _:
                return "The last change taken back"

    def _put_back(self, command: Line, inverse: Line) -> str:
        match command["do"]:
            case "add_appliance":
                return f"{command['title']} taken out again"
            case "remove_appliance":
                runs = command.get("runs", 0)
                with_runs = f", with {_runs(runs)}" if runs else ""
                return f"{command['title']} back{with_runs}{_and_in(command)}"
            case "add_weather":
                return f"Sun record {command['title']} taken away again"
            case "remove_weather":
                return f"Sun record {command['title']} back"
            case "change_part" if not command.get("what") and len(command["was"]) == len(command["changes"]):
                pairs = zip(command["changes"], command["was"], strict=True)
                back = [[path, was] for (path, _), was in pairs]
                turned = dict(command) | {"changes": back, "was": [value for _, value in command["changes"]]}
                return part_changed(turned, self._household)
            case _:
                return part_put_back(dict(command) | dict(inverse))

    def _what_if(self, line: Line) -> str:
        """What was changed for one plan alone; of a single piece of the supply its figures."""
        title = what_if_title(line)
        if line.get("take_back"):
            return f"{title} as in what this plan is built on again"
        if line.get("what") in ("added", "workshop"):
            return f"{title} added, in this plan alone"
        parts = {path[0] for path, _ in line.get("supply") or ()}
        if len(parts) == 1 and not line.get("appliances") and not line.get("what"):
            pairs = [[path[1:], value] for path, value in line["supply"]]
            told = {"kind": "supply", "name": parts.pop(), "changes": pairs, "was": line.get("was"), "title": title}
            return f"{part_changed(told, self._household)}, in this plan alone"
        return f"{title} changed, in this plan alone"

    def _then(self, line: Line) -> str:
        """As what it was a plan is again: by the clock where the household is."""
        if not line.get("at"):
            return "Plan as before going back"
        local = datetime.datetime.fromisoformat(line["at"]).astimezone(ZoneInfo(self._household.site.timezone))
        return f"Plan as it was on {moment(local)}"

    def _run_field(self, line: Line, about: Line, *, back: bool) -> str:
        # Lines of an older log say what was set and nothing more; one that cleared the field says not even that.
        becomes = line.get("becomes", line.get("value"))
        match line["field"]:
            case "on":
                on = becomes is not False
                if back:
                    return f"{self._run(about)} {'on' if on else 'off'} again"
                return f"{self._run(about)} switched {'on' if on else 'off'}"
            case "start" if isinstance(becomes, str):
                return f"{self._appliance(about)} {'back' if back else 'moved'} to {_face(becomes)}"
            case "duration_s" if becomes:
                return f"{self._run(about)} {'back' if back else 'set'} to {duration(becomes)}"
            case "duration_s":
                return f"{self._run(about)} back to its usual length"
            case _:
                return f"{self._run(about)} {'as before' if back else 'changed'}"

    def _plan_field(self, line: Line, *, back: bool) -> str:
        field, becomes = line["field"], line["becomes"]
        if field == "name":
            return f"Plan named {becomes} again" if back else f"Plan renamed to {becomes}"
        lead = _FIELDS[field][1 if back else 0]
        if field == "measured_day" and becomes is None:
            return "Sun back to that of the sky" if back else "Measured day taken out"
        if field == "date":
            return f"{lead} {day_name(becomes, self._household.site.timezone)}"
        value = day_value(field, becomes, customs_of(self._household))
        warmed = field == "measured_day" and line.get("ambient_c") is not None
        return f"{lead} {value}{', and its temperatures' if warmed else ''}"

    def _run(self, about: Line) -> str:
        """A run by its appliance and its start: `Dryer at 11:55`."""
        run = self._present(about)
        start = about.get("start") or (about.get("document") or {}).get("start") or (run.start if run else None)
        return f"{self._appliance(about)} at {_face(start)}" if start else self._appliance(about)

    def _appliance(self, about: Line) -> str:
        run = self._present(about)
        appliance_id = about.get("appliance") or (run.appliance if run else "")
        for library in (self._resolved.household, self._household):
            for appliance in library.appliances:
                if appliance.id == appliance_id:
                    return appliance.name
        return appliance_id or "A run"

    def _present(self, about: Line) -> Run | None:
        """The run a line is about as it is now, if it is still there."""
        run_id = about.get("run_id") or self._stored.run_id(self._scenario, about.get("run", ""))
        return self._stored.run(self._scenario, run_id) if run_id else None

    @property
    def _household(self) -> Household:
        return self._stored.household


_OF_A_HOUSEHOLD = {
    "import_household": "Household brought in",
    "create_household": "Household created",
    "duplicate_household": "Household copied",
    "remove_household": "Household deleted",
    "restore_household": "Household brought back",
}

# What of a household names an appliance and goes with it.
_RULES = {"any_time": "the any-time loads", "interlocks": "what never runs together"}


def what_if_title(line: Line) -> str:
    """What a change for one plan alone was about."""
    return str(line.get("title") or "Supply")


def _and_of(line: Line) -> str:
    """The lists of the household out of which it went as well."""
    return f", and of {_lists(line)}" if line.get("rules") else ""


def _and_in(line: Line) -> str:
    """The lists of the household in which it is again."""
    return f", and in {_lists(line)}" if line.get("rules") else ""


def _lists(line: Line) -> str:
    return listed([_RULES[one] for one in line["rules"]])


def _as_before(line: Line) -> str:
    if "begun" in line:
        return "Household as before the first figures" if line["begun"] else "Supply as before"
    return f"Household as before {line['name']} was made real" if line.get("name") else "Household as before the file"


def _runs(number: int) -> str:
    return "1 run" if number == 1 else f"{number} runs"


def _face(start: str) -> str:
    """A start without its seconds where there are none."""
    return start.removesuffix(":00") if start.count(":") == 2 else start
