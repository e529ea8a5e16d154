"""Every sentence about a plan is made in this folder, out of codes and numbers."""

from app.web.words.anytime import any_time_sentence
from app.web.words.arrays import array_words
from app.web.words.cautions import caution_text
from app.web.words.changes import what_it_did, what_undoing_does
from app.web.words.doubts import assumed_words, bank_doubt, doubt_named, doubt_words, followed_words, unknown_words
from app.web.words.energy import (
    charge_words,
    darker_sentence,
    energy_at,
    energy_cautions,
    energy_notes,
    limit_case,
    typical_sentence,
)
from app.web.words.hazards import hazard
from app.web.words.legs import circuit_choice, leg_words
from app.web.words.limits import (
    circuit_name,
    decisive,
    level_name,
    limit_name,
    mark_words,
    passing_name,
    reading_name,
    reading_phrase,
    verdict_word,
)
from app.web.words.moment import VA_PARTS, may_start_sentence, room_sentence
from app.web.words.odds import NOT_BY_VOLTS, exactly, exactly_it_runs, how_often, how_often_it_runs
from app.web.words.past import rested_on, what_became
from app.web.words.place import place_words
from app.web.words.plain import BEHAVIOURS, Headline, listed, sentence_case
from app.web.words.plans import (
    day_name,
    day_value,
    kilowatt_hours,
    per_cent,
    plain_number,
    record_day,
    sky,
    sun_taken,
    warmth,
)
from app.web.words.verdict import headline, made_by, sentence
from app.web.words.ways import no_way, way_button, way_outcome, way_sentence

__all__ = [
    "BEHAVIOURS",
    "NOT_BY_VOLTS",
    "VA_PARTS",
    "Headline",
    "any_time_sentence",
    "array_words",
    "assumed_words",
    "bank_doubt",
    "caution_text",
    "charge_words",
    "circuit_choice",
    "circuit_name",
    "darker_sentence",
    "day_name",
    "day_value",
    "decisive",
    "doubt_named",
    "doubt_words",
    "energy_at",
    "energy_cautions",
    "energy_notes",
    "exactly",
    "exactly_it_runs",
    "followed_words",
    "hazard",
    "headline",
    "how_often",
    "how_often_it_runs",
    "kilowatt_hours",
    "leg_words",
    "level_name",
    "limit_case",
    "limit_name",
    "listed",
    "made_by",
    "mark_words",
    "may_start_sentence",
    "no_way",
    "passing_name",
    "per_cent",
    "place_words",
    "plain_number",
    "reading_name",
    "reading_phrase",
    "record_day",
    "rested_on",
    "room_sentence",
    "sentence",
    "sentence_case",
    "sky",
    "sun_taken",
    "typical_sentence",
    "unknown_words",
    "verdict_word",
    "warmth",
    "way_button",
    "way_outcome",
    "way_sentence",
    "what_became",
    "what_it_did",
    "what_undoing_does",
]
