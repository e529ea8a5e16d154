"""The verdict sentence of every story and demo plan is the one last read and found good (see golden.py)."""

import pytest

from tests.households import assessed
from tests.stories.golden import demo_plans, golden, stories

STORIES = stories()
DEMO = demo_plans()


@pytest.mark.parametrize("name", STORIES)
def test_a_story_is_told_in_the_same_words(name: str) -> None:
    """A sentence changes only on purpose: write golden_sentences.json anew and read what changed."""
    assert assessed(STORIES[name])["sentence"] == golden()[name]


@pytest.mark.parametrize("name", DEMO)
def test_a_plan_of_the_demo_is_told_in_the_same_words(name: str) -> None:
    """The three plans of Saltmarsh Ferry House keep their sentences."""
    assert assessed(*DEMO[name])["sentence"] == golden()[name]


def test_every_golden_sentence_belongs_to_a_plan() -> None:
    """Nothing is left over in the file."""
    assert list(golden()) == [*STORIES, *DEMO]
