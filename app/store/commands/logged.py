"""Commands as the log keeps them, beside its columns, and as commands again."""

import dataclasses
import re
from collections.abc import Mapping
from typing import Any

from app.store.commands.begun import BeginWith
from app.store.commands.command import ENVELOPE, Command
from app.store.commands.days import ClearPlanField, RestorePlanFields, SetPlanField, TakeMeasuredDay
from app.store.commands.house import SetHouseholdName
from app.store.commands.laying import PlaceRuns, RunsAsBefore
from app.store.commands.library import AddAppliance, RemoveAppliance
from app.store.commands.parts import ChangePart, PutBack
from app.store.commands.placing import AddRun, RemoveRun
from app.store.commands.plans import AddPlan, RemovePlan, RestorePlan
from app.store.commands.real import MakeReal
from app.store.commands.replacing import HouseholdAsBefore, ReplaceHousehold
from app.store.commands.runs import ClearRunField, SetRunField
from app.store.commands.then import PlanAsThen
from app.store.commands.weather import AddWeather, RemoveWeather
from app.store.commands.whatif import ChangeWhatIf, LeaveOut, WhatIfAsBefore

_KINDS: tuple[type[Command], ...] = (
    SetRunField,
    ClearRunField,
    AddRun,
    RemoveRun,
    PlaceRuns,
    RunsAsBefore,
    SetPlanField,
    ClearPlanField,
    RestorePlanFields,
    TakeMeasuredDay,
    AddPlan,
    RemovePlan,
    RestorePlan,
    SetHouseholdName,
    ChangePart,
    PutBack,
    AddAppliance,
    RemoveAppliance,
    ReplaceHousehold,
    HouseholdAsBefore,
    AddWeather,
    RemoveWeather,
    PlanAsThen,
    ChangeWhatIf,
    LeaveOut,
    WhatIfAsBefore,
    MakeReal,
    BeginWith,
)


def _name(kind: type[Command]) -> str:
    return re.sub(r"(?<!^)(?=[A-Z])", "_", kind.__name__).lower()


_BY_NAME = {_name(kind): kind for kind in _KINDS}


def logged(command: Command) -> dict[str, Any]:
    """What the log keeps of a command: `{"do": "set_run_field", "scenario": key, "run": key, ...}`."""
    given = {"do": _name(type(command))}
    for field in _own_fields(type(command)):
        value = getattr(command, field.name)
        if value is not None or field.default is dataclasses.MISSING:
            given[field.name.removesuffix("_key")] = value
    return given


def command_of(logged: Mapping[str, Any], **envelope: Any) -> Command:
    """A command out of the log.

    logged: a line's `command` or `inverse`; what it holds beside the command's fields is for reading only.
    envelope: household_key, tab, sequence, link_key, and revision if it is known.
    Raises ValueError for a line that is no command, such as an import.
    """
    kind = _BY_NAME.get(logged["do"])
    if kind is None:
        raise ValueError(f"{logged['do']} is not done by a command")
    fields = {field.name: field.name.removesuffix("_key") for field in _own_fields(kind)}
    return kind(**envelope, **{name: logged[short] for name, short in fields.items() if short in logged})


def _own_fields(kind: type[Command]) -> list[dataclasses.Field[Any]]:
    return [field for field in dataclasses.fields(kind) if field.name not in ENVELOPE]
