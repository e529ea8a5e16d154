"""Every sentence about a plan is made in this folder, out of codes and numbers."""

from app.web.words.anytime import any_time_sentence
from app.web.words.cautions import caution_text
from app.web.words.limits import circuit_name, decisive, limit_name, mark_words, reading_phrase, verdict_word
from app.web.words.plain import listed, sentence_case
from app.web.words.verdict import Headline, headline, made_by, sentence
from app.web.words.ways import way_button, way_outcome, way_sentence

__all__ = [
    "Headline",
    "any_time_sentence",
    "caution_text",
    "circuit_name",
    "decisive",
    "headline",
    "limit_name",
    "listed",
    "made_by",
    "mark_words",
    "reading_phrase",
    "sentence",
    "sentence_case",
    "verdict_word",
    "way_button",
    "way_outcome",
    "way_sentence",
]
