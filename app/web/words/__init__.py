"""Every sentence about a plan is made in this folder, out of codes and numbers."""

from app.web.words.anytime import any_time_sentence
from app.web.words.cautions import caution_text
from app.web.words.changes import what_it_did, what_undoing_does
from app.web.words.doubts import assumed_words, unknown_words
from app.web.words.hazards import hazard
from app.web.words.limits import (
    circuit_name,
    decisive,
    level_name,
    limit_name,
    mark_words,
    reading_phrase,
    verdict_word,
)
from app.web.words.moment import may_start_sentence, room_sentence
from app.web.words.parts import figures_of
from app.web.words.plain import BEHAVIOURS, listed, sentence_case
from app.web.words.plans import day_name, day_value, per_cent, plain_number, sky, warmth
from app.web.words.verdict import Headline, headline, made_by, sentence
from app.web.words.ways import way_button, way_outcome, way_sentence

__all__ = [
    "BEHAVIOURS",
    "Headline",
    "any_time_sentence",
    "assumed_words",
    "caution_text",
    "circuit_name",
    "day_name",
    "day_value",
    "decisive",
    "figures_of",
    "hazard",
    "headline",
    "level_name",
    "limit_name",
    "listed",
    "made_by",
    "mark_words",
    "may_start_sentence",
    "per_cent",
    "plain_number",
    "reading_phrase",
    "room_sentence",
    "sentence",
    "sentence_case",
    "sky",
    "unknown_words",
    "verdict_word",
    "warmth",
    "way_button",
    "way_outcome",
    "way_sentence",
    "what_it_did",
    "what_undoing_does",
]
