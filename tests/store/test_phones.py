"""What another phone is told: how far a household is, and what changed since."""

from app.store.commands import RemovePlan, SetHouseholdName
from app.store.history import NEWS_AT_MOST, Change
from app.store.households import changes_since, newest
from tests.store.doing import done, envelope, plan_key, undone
from tests.store.sample import Mill


def news(mill: Mill, plan: str, revision: int) -> list[Change]:
    """What a page of a plan is told."""
    with mill.database.session() as session:
        return changes_since(session, mill.key, plan_key(mill, plan), revision)


def test_the_newest_revision_is_asked_for_alone(mill: Mill) -> None:
    """It counts the household's changes; what is not there has none."""
    done(mill, mill.switch("wash", "first"))
    with mill.database.session() as session:
        assert newest(session, mill.key) == mill.stored().revision == 2
        assert newest(session, "0" * 32) is None
        assert newest(session, "\x00") is None


def test_a_page_is_told_what_concerns_it(mill: Mill) -> None:
    """Changes of its plan, of the plans above it and of the household, the newest last; none of its children's."""
    done(mill, mill.switch("wash", "first"))
    done(mill, mill.switch("wet", "late", sequence=2, tab="phone"))
    done(mill, mill.switch("plain", "late", sequence=3))
    done(mill, SetHouseholdName(**envelope(mill), value="Elder Mill"))

    told = [(change.revision, change.tab, change.command["do"]) for change in news(mill, "wet", 1)]
    assert told == [
        (2, "kitchen", "set_run_field"),
        (3, "phone", "set_run_field"),
        (5, "kitchen", "set_household_name"),
    ]
    assert [change.revision for change in news(mill, "bare", 1)] == [5]
    assert [change.revision for change in news(mill, "plain", 3)] == [4, 5]
    assert news(mill, "wet", 5) == []


def test_an_undo_is_news_too(mill: Mill) -> None:
    """It is told as the change it is, and names the one it takes back."""
    change_id = done(mill, mill.switch("wash", "first")).change_id
    undone(mill, "wash", tab="phone")
    [change] = news(mill, "wash", 2)

    assert (change.undoes, change.tab, change.command["becomes"]) == (change_id, "phone", True)


def test_a_page_of_a_removed_plan_is_told_of_the_removal(mill: Mill) -> None:
    """The household's changes are told to whoever asks with the key of a plan that is there no more."""
    key = plan_key(mill, "bare")
    done(mill, RemovePlan(**envelope(mill), scenario_key=key))
    with mill.database.session() as session:
        [change] = changes_since(session, mill.key, key, 1)

        assert change.command == {"do": "remove_plan", "scenario": key, "name": "Nothing yet"}
        assert changes_since(session, "0" * 32, key, 1) == []


def test_a_page_that_was_away_is_told_the_last_changes(mill: Mill) -> None:
    """However much happened, a page is told a handful."""
    for number in range(1, NEWS_AT_MOST + 4):
        done(mill, mill.switch("wash", "first", value=number % 2 == 0, sequence=number))

    assert [change.revision for change in news(mill, "wash", 1)] == list(range(5, NEWS_AT_MOST + 5))
