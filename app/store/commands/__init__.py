"""Commands: everything a page can change, one thing at a time, through one door."""

from app.store.commands.begun import BeginWith
from app.store.commands.command import Command
from app.store.commands.days import ClearPlanField, PlanField, RestorePlanFields, SetPlanField, TakeMeasuredDay
from app.store.commands.door import Applied, apply
from app.store.commands.house import SetHouseholdName
from app.store.commands.laying import PlaceRuns, RunsAsBefore
from app.store.commands.library import AddAppliance, RemoveAppliance
from app.store.commands.logged import command_of, logged
from app.store.commands.parts import ChangePart, PutBack
from app.store.commands.placing import AddRun, RemoveRun
from app.store.commands.plans import AddPlan, RemovePlan, RestorePlan, copied
from app.store.commands.real import MakeReal
from app.store.commands.replacing import HouseholdAsBefore, ReplaceHousehold
from app.store.commands.runs import ClearRunField, RunField, SetRunField
from app.store.commands.then import PlanAsThen, as_parts
from app.store.commands.undoing import Pressed, redo, undo
from app.store.commands.weather import AddWeather, RemoveWeather
from app.store.commands.whatif import ChangeWhatIf, LeaveOut, WhatIfAsBefore

__all__ = [
    "AddAppliance",
    "AddPlan",
    "AddRun",
    "AddWeather",
    "Applied",
    "BeginWith",
    "ChangePart",
    "ChangeWhatIf",
    "ClearPlanField",
    "ClearRunField",
    "Command",
    "HouseholdAsBefore",
    "LeaveOut",
    "MakeReal",
    "PlaceRuns",
    "PlanAsThen",
    "PlanField",
    "Pressed",
    "PutBack",
    "RemoveAppliance",
    "RemovePlan",
    "RemoveRun",
    "RemoveWeather",
    "ReplaceHousehold",
    "RestorePlan",
    "RestorePlanFields",
    "RunField",
    "RunsAsBefore",
    "SetHouseholdName",
    "SetPlanField",
    "SetRunField",
    "TakeMeasuredDay",
    "WhatIfAsBefore",
    "apply",
    "as_parts",
    "command_of",
    "copied",
    "logged",
    "redo",
    "undo",
]
