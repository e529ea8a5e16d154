"""The list of households: begun, renamed, copied, deleted and had back, by whoever may."""

import datetime
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from app.jobs.jobs import Jobs
from app.store.households import list_households
from app.store.links import make_link
from app.web.access import COOKIE
from tests.web.conftest import HTMX, House
from tests.web.markup import Page
from tests.web.test_plans import gone_to


def names(house: House) -> list[str]:
    with house.database.session() as session:
        return [row.name for row in list_households(session)]


def keys(house: House) -> list[str]:
    with house.database.session() as session:
        return [row.key for row in list_households(session)]


def post(house: House, address: str, htmx: bool = False, **fields: Any) -> Any:
    return house.client.post(address, data=fields, headers=HTMX if htmx else {}, follow_redirects=False)


def listed(house: House, query: str = "") -> Page:
    answer = house.client.get(f"/{query}")
    assert answer.status_code == 200
    return Page(answer.text)


def test_each_plan_stands_with_its_verdict_in_a_word(house: House) -> None:
    """The list says of each plan how it stands, and leads to it."""
    page = listed(house)
    plans = [
        one.text
        for one in page.all("a")
        if (one.get("href") or "").startswith(f"/h/{house.key}/") and "History" not in one.text
    ]

    assert plans == [
        "An ordinary day Tue 12 May Only just",
        "Laundry day Sat 16 May Fine, but only for a while",
        "Boat shed opens Tue 19 May Could cut out",
    ]


def test_a_new_household_begins_with_an_empty_plan(house: House, htmx: bool) -> None:
    """Its name is enough: it is stored, and its first figures are asked for beside its only plan."""
    answer = post(house, "/households", htmx, name=" Reedbank Cabin ")
    page = Page(house.client.get(gone_to(answer, htmx)).text)

    assert names(house) == ["Saltmarsh Ferry House", "Reedbank Cabin"]
    assert page.all("h1")[0].text == "Reedbank Cabin"
    assert "Nothing is planned yet." in page.by_id("effect").text
    assert page.by_id("begin-rated_va")["value"] == ""


def test_a_place_is_taken_with_commas_and_signs(house: House) -> None:
    """Time zone, latitude and longitude are stored as the file has them."""
    post(house, "/households", name="Cabin", timezone="Pacific/Auckland", latitude="−36,8", longitude="174.7°")
    document = house.client.get(f"/households/{keys(house)[-1]}/file").json()

    assert document["site"] == {"latitude": -36.8, "longitude": 174.7, "timezone": "Pacific/Auckland"}


@pytest.mark.parametrize(
    ("field", "typed", "why"),
    [
        ("name", " ", "Give it a name, such as Lake cabin."),
        ("timezone", "Atlantis", "Give a time zone as Area/City, like Europe/Dublin."),
        ("timezone", "../../etc/passwd", "Give a time zone as Area/City, like Europe/Dublin."),
        ("latitude", "north", "Give degrees, such as 54.3, with a minus sign in the south or in the west."),
        ("latitude", "91", "91 is too large; give a number of at most 90."),
        ("longitude", "-181", "-181 is too small; give a number of at least -180."),
    ],
)
def test_what_cannot_be_of_a_new_household_is_said_beside_it(
    house: House, htmx: bool, field: str, typed: str, why: str
) -> None:
    """Status 422; every field keeps what was typed, and nothing is stored."""
    given = {"name": "Cabin", "timezone": "UTC", "latitude": "", "longitude": ""} | {field: typed}
    answer = post(house, "/households", htmx, **given)
    page = Page(answer.text)

    assert answer.status_code == 422
    assert page.by_id(f"fault-new-{field}").text == why
    assert {name: page.by_id(f"new-{name}")["value"] for name in given} == given
    assert page.by_id("begin").get("open") is not None
    assert field == "name" or page.by_id("place").get("open") is not None
    assert names(house) == ["Saltmarsh Ferry House"]


def test_a_household_is_renamed_in_place(house: House, htmx: bool) -> None:
    """The list comes back at the household, under its new name."""
    answer = post(house, f"/households/{house.key}/name", htmx, name="Ferry House ", tab="t1", sequence=1)

    assert gone_to(answer, htmx) == f"/#house-{house.key}"
    assert listed(house).by_id(f"name-{house.key}").text == "Ferry House"


def test_the_name_it_has_is_no_change(house: House) -> None:
    """Renaming to the same name stores nothing."""
    post(house, f"/households/{house.key}/name", name="Saltmarsh Ferry House", tab="t1", sequence=1)

    assert house.stored.revision == 1


def test_no_two_households_have_one_name(house: House, htmx: bool) -> None:
    """A new one, a copy and a rename are refused beside the field, which offers the next free name in words."""
    post(house, "/copies", of=house.key, name="Second")
    why = "There is a household of that name already; give another, such as second 2."
    answers = (
        (post(house, "/households", htmx, name="second"), "new-name"),
        (post(house, "/copies", htmx, of=house.key, name="second"), f"copy-{house.key}"),
        (
            post(house, f"/households/{house.key}/name", htmx, name="second", tab="t", sequence=1),
            f"rename-{house.key}",
        ),
    )

    for answer, field in answers:
        page = Page(answer.text)
        assert answer.status_code == 422
        assert page.by_id(f"fault-{field}").text == why
        assert page.by_id(field)["value"] == "second"
    assert names(house) == ["Saltmarsh Ferry House", "Second"]


def test_a_helper_of_one_household_hears_nothing_of_others(house_of: Callable[..., House]) -> None:
    """A name that a household has which the link does not open is not refused: that would tell of it."""
    owner = house_of("owner")
    post(owner, "/copies", of=owner.key, name="Second")
    helper = house_of("helper", owner.key)

    assert post(helper, f"/households/{owner.key}/name", name="Second", tab="t", sequence=1).status_code == 303


def test_a_copy_is_offered_a_name_that_can_be_and_is_free(house: House) -> None:
    """However long the name is and however many copies there are, the offered one is taken as it stands."""
    post(house, f"/households/{house.key}/name", name="x" * 200, tab="t", sequence=1)
    for _ in range(2):
        offered = listed(house).by_id(f"copy-{house.key}")["value"]
        assert offered.startswith("xxx")
        assert ", copy" in offered
        assert post(house, "/copies", of=house.key, name=offered).status_code == 303

    assert len(set(names(house))) == 3


@pytest.mark.parametrize("what", ["rename", "copy"])
@pytest.mark.parametrize(
    ("typed", "why"),
    [("", "Give it a name, such as Lake cabin."), ("x" * 201, "At most 200 characters, please; here are 201.")],
)
def test_a_name_that_cannot_be_is_refused_beside_its_field(
    house: House, htmx: bool, what: str, typed: str, why: str
) -> None:
    """What was typed stays, unfolded, at the household it was meant for."""
    if what == "rename":
        answer = post(house, f"/households/{house.key}/name", htmx, name=typed, tab="t1", sequence=1)
    else:
        answer = post(house, "/copies", htmx, of=house.key, name=typed)
    page = Page(answer.text)
    field = page.by_id(f"{what}-{house.key}")

    assert answer.status_code == 422
    assert page.by_id(field["aria-describedby"].strip()).text == why
    assert field["value"] == typed
    assert page.by_id(f"more-{house.key}").get("open") is not None
    assert names(house) == ["Saltmarsh Ferry House"]


def test_a_copy_has_everything_but_the_name(house: House, htmx: bool) -> None:
    """The copy's file is the household's under another name, and the two go their own ways."""
    answer = post(house, "/copies", htmx, of=house.key, name="Second")
    copy = keys(house)[1]

    assert gone_to(answer, htmx) == f"/#house-{copy}"
    assert house.client.get(f"/households/{copy}/file").json() == house.document | {"name": "Second"}


def test_a_deleted_household_is_had_back_by_undo(house: House, htmx: bool) -> None:
    """The list says what was deleted, with the button that brings back everything."""
    before, address = house.document, house.address()
    answer = post(house, f"/households/{house.key}/delete", htmx)
    page = Page(house.client.get(gone_to(answer, htmx)).text)
    undo = page.by_id("undo").parent

    assert names(house) == []
    assert undo is not None
    assert undo.text == "Saltmarsh Ferry House deleted. Undo"
    assert house.client.get(address).status_code == 404
    assert gone_to(post(house, undo["action"], htmx), htmx) == f"/#house-{house.key}"
    assert house.document == before
    assert house.client.get(address).status_code == 200
    assert not listed(house, f"?deleted={house.key}").all("form", kind="just")


def test_a_deleted_household_stays_listed_to_be_brought_back(house: House) -> None:
    """Later too it stands under what is deleted, whatever address one comes by."""
    post(house, f"/households/{house.key}/delete")
    page = listed(house)
    removed = page.by_id("removed")

    assert "Saltmarsh Ferry House deleted" in removed.text
    assert [one["action"] for one in page.all("form") if one.inside(removed)] == [f"/households/{house.key}/restore"]
    assert "There is no household yet." in page.all(kind="lead")[0].text


def test_a_deleted_household_goes_for_good_when_asked_twice(house: House, tmp_path: Path, htmx: bool) -> None:
    """The list says until when it is kept; whoever cannot wait is asked twice. What was searched for it goes, too."""
    assert house.client.get(f"/purge?of={house.key}").status_code == 404
    assert post(house, "/purge", of=house.key).status_code == 404
    assert "For 30 days it can be had back" in house.client.get(f"/households/{house.key}/delete?sure=1").text
    post(house, f"/households/{house.key}/delete")
    (way,) = [one for one in listed(house).all("a") if one["href"].startswith("/purge")]
    first = Page(house.client.get(way["href"]).text)
    assert not first.all("form")
    (again,) = [one for one in first.all("a") if one["href"].startswith("/purge")]
    assert again["href"].endswith("&sure=1")
    (form,) = Page(house.client.get(again["href"]).text).all("form")
    sent = {"of": house.key}
    jobs = Jobs(str(tmp_path / "jobs.sqlite3"), lambda _: None)
    house.client.app.state.jobs = jobs  # type: ignore[attr-defined]
    searches = [jobs.ask("laundry", {"of": key}) for key in (house.key, "other")]

    assert gone_to(post(house, form["action"], htmx, **sent), htmx) == "/"
    assert [jobs.look(one) is None for one in searches] == [True, False]
    jobs.close()
    assert not listed(house).all("details", id="removed")
    for address in (f"/households/{house.key}/restore", "/purge"):
        assert post(house, address, **sent).status_code == 404


def test_a_deleted_household_is_kept_for_so_long(house: House) -> None:
    """Until the day that is told; after it the list has it no more, and it is not brought back."""
    app = house.client.app
    post(house, f"/households/{house.key}/delete")
    now = app.state.clock()  # type: ignore[attr-defined]
    app.state.clock = lambda: now + datetime.timedelta(days=29)  # type: ignore[attr-defined]
    assert "kept until" in listed(house).by_id("removed").text
    app.state.clock = lambda: now + datetime.timedelta(days=31)  # type: ignore[attr-defined]

    assert post(house, f"/households/{house.key}/restore").status_code == 404
    assert not listed(house).all("details", id="removed")


def test_only_who_owns_everything_lets_a_household_go_for_good(house_of: Callable[..., House]) -> None:
    """With it goes its owner's link, too, and with that the way to anything else."""
    house = house_of("owner")
    own = house_of("owner", house.key)
    assert post(own, f"/households/{house.key}/delete").status_code == 303

    assert not [one for one in listed(own).all("a") if one["href"].startswith("/purge")]
    assert own.client.get(f"/purge?of={house.key}").status_code == 403
    assert post(own, "/purge", of=house.key).status_code == 403
    assert post(house, "/purge", of=house.key).status_code == 303
    assert own.client.get("/").status_code == 403


def test_a_household_is_saved_as_the_file_it_is(house: House) -> None:
    """The file is named after the household and equals what was brought in."""
    answer = house.client.get(f"/households/{house.key}/file")

    assert answer.headers["content-disposition"].startswith('attachment; filename="saltmarsh-ferry-house.json"')
    assert json.loads(answer.text) == house.document
    assert house.client.post("/import", files={"file": ("x.json", answer.content)}).status_code == 200
    assert names(house) == ["Saltmarsh Ferry House", "Saltmarsh Ferry House 2"]


def test_a_name_in_any_script_makes_a_file_name(house: House) -> None:
    """Headers take plain letters only; the whole name goes along, spelled for them."""
    post(house, f"/households/{house.key}/name", name="Дом «Ü»", tab="t1", sequence=1)
    answer = house.client.get(f"/households/{house.key}/file")

    assert answer.status_code == 200
    assert "filename*=UTF-8''%D0%94%D0%BE%D0%BC%20%C2%AB%C3%9C%C2%BB.json" in answer.headers["content-disposition"]


@pytest.mark.parametrize("address", ["/households/{}/delete", "/households/{}/restore", "/households/{}/file"])
def test_a_household_nobody_knows_is_not_there(house: House, address: str) -> None:
    """An unknown key, and bringing back what is not deleted, answer 404."""
    unknown = address.format("f" * 32)
    answer = house.client.get(unknown) if unknown.endswith("file") else post(house, unknown)

    assert answer.status_code == 404
    assert post(house, f"/households/{house.key}/restore").status_code == 404
    assert post(house, "/copies", of="f" * 32, name="x").status_code == 404
    assert post(house, f"/households/{'f' * 32}/name", name="x", tab="t", sequence=1).status_code == 404


OWNERS = ("/households", "/copies", "/households/{key}/delete", "/households/{key}/restore")


def test_a_helper_renames_and_no_more(house_of: Callable[..., House], htmx: bool) -> None:
    """Beginning, copying and deleting are the owner's; the list shows a helper no such control."""
    helper = house_of("helper")
    page = listed(helper)

    for address in OWNERS:
        answer = post(helper, address.format(key=helper.key), htmx, name="x", of=helper.key)
        assert answer.status_code == 403
    assert [one["action"] for one in page.all("form")] == [f"/households/{helper.key}/name"]
    renamed = post(helper, f"/households/{helper.key}/name", htmx, name="x", tab="t", sequence=1)
    assert gone_to(renamed, htmx) == f"/#house-{helper.key}"


def test_a_reader_sees_no_control(house_of: Callable[..., House]) -> None:
    """The list of a reader has plans and nothing to press; the file may be read."""
    reader = house_of("reader")

    assert not listed(reader).all("form")
    assert not listed(reader).all("details")
    assert reader.client.get(f"/households/{reader.key}/file").status_code == 200
    assert post(reader, f"/households/{reader.key}/name", name="x", tab="t", sequence=1).status_code == 403


def test_the_owner_of_one_household_makes_no_other(house: House) -> None:
    """A link for one household deletes and brings back that one, and begins or copies none."""
    with house.database.session() as session:
        token = make_link(session, "theirs", "owner", house.key)
        session.commit()
    house.client.cookies.set(COOKIE, token)
    page = listed(house)

    assert not page.all(id="begin")
    assert not page.all(id=f"copy-{house.key}")
    assert post(house, "/households", name="x").status_code == 403
    assert post(house, "/copies", of=house.key, name="x").status_code == 403
    assert post(house, f"/households/{house.key}/delete").status_code == 303
    assert post(house, f"/households/{house.key}/restore").status_code == 303


def test_a_long_list_leaves_verdicts_out(house: House) -> None:
    """With more than twenty plans in all the list stays quick: it names plans without working them out."""
    for number in range(7):
        post(house, "/copies", of=house.key, name=f"Copy {number}")

    assert len(keys(house)) == 8
    assert not listed(house).all(kind="word")


def test_every_id_of_the_list_is_there_once_and_every_label_names_one(house: House) -> None:
    """With several households each field still has an id of its own."""
    post(house, "/copies", of=house.key, name="Second")
    page = listed(house)
    ids = [one["id"] for one in page.elements if "id" in one.attributes]
    named = {one["for"] for one in page.all("label")}

    assert len(ids) == len(set(ids))
    assert named <= set(ids)


@pytest.mark.parametrize(("given", "missing"), [("latitude", "longitude"), ("longitude", "latitude")])
def test_half_a_place_is_refused_at_the_other_half(house: House, given: str, missing: str) -> None:
    """A place is both or neither."""
    fields = {"name": "Cabin", "timezone": "America/Denver", given: "39.7"}
    answer = house.client.post("/households", data=fields)

    assert answer.status_code == 422
    page = Page(answer.text)
    assert f"give the {missing} too, or leave both empty" in page.by_id(f"fault-new-{missing}").text
    assert page.by_id(f"new-{given}")["value"] == "39.7"


@pytest.mark.parametrize(
    ("zone", "place", "says"),
    [
        ("America/Denver", (39.74, -104.98), "roughly that of Denver"),
        ("US/Mountain", (39.74, -104.98), "roughly that of Denver"),
        ("UTC", (0, 0), "is that of 0° N 0° E"),
    ],
)
def test_without_a_place_the_zone_tells_it_and_every_page_says_so(
    house: House, zone: str, place: tuple[float, float], says: str
) -> None:
    """The sun is never that of the equator unsaid: Household, the checklist, and the day once there are panels."""
    answer = house.client.post("/households", data={"name": "Cabin", "timezone": zone}, follow_redirects=False)
    begun = House(house.database, house.client, answer.headers["location"].split("/")[2])
    address = begun.address("first")

    def told(path: str) -> str:
        return Page(house.client.get(f"{address}{path}").text).all("main")[0].text

    assert (begun.document["site"]["latitude"], begun.document["site"]["longitude"]) == place
    assert says in told("/household") and says in told("/supply")
    assert says not in told("?sun=1")
    fields = {"part": "arrays", "what": "add", "tab": "t", "sequence": "1", "revision": "1"}
    house.client.post(f"{address}/supply/pieces", data=fields)
    assert says in told("?sun=1")
    figures = {"form": "site", "latitude": "40.1", "was:latitude": str(place[0]), "longitude": "-105"}
    figures |= {"was:longitude": str(place[1]), "timezone": zone, "was:timezone": "", "tab": "t", "sequence": "2"}
    house.client.post(f"{address}/household", data=figures | {"revision": "2", "timezone": "America/Denver"})
    assert begun.document["site"]["latitude"] == 40.1
    assert "was not told" not in told("?sun=1") + told("/household") + told("/supply")


def test_a_place_on_the_other_side_of_the_clock_is_told(house: House) -> None:
    """A longitude without its minus sign: the sun would stand highest at night."""
    fields = {"name": "Cabin", "timezone": "America/Denver", "latitude": "39.7", "longitude": "105"}
    answer = house.client.post("/households", data=fields, follow_redirects=False)
    begun = House(house.database, house.client, answer.headers["location"].split("/")[2])
    page = Page(house.client.get(f"{begun.address('first')}/household").text)

    assert "some 10 hours after noon by the clock" in page.all("main")[0].text
