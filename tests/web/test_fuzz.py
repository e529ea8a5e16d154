"""Nonsense for tokens and keys: never let in, never a fault of the program, and nothing stored."""

import json
import re
import string
from collections.abc import Callable
from urllib.parse import quote

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.store.households import export_document, list_households
from app.store.links import find_link
from app.web.access import COOKIE
from tests.oracle.profiles import examples
from tests.web.conftest import House

KEY = "0123456789abcdef"
NONSENSE = st.one_of(
    st.text(max_size=40),
    st.text(KEY, min_size=31, max_size=33),
    st.text(string.printable, max_size=60),
    st.sampled_from(
        ["..", "%2e%2e", "%00", "'; DROP TABLE link; --", "0" * 32, "f" * 32, "NaN", "-1", "9" * 400, "\ud7ff"]
    ),
)


class _Patient:
    async def wrong(self, _address: str) -> None:
        """Nobody waits."""


@pytest.fixture
def guarded(house_of: Callable[..., House]) -> tuple[House, House]:
    """An owner and somebody without a link."""
    owner, nobody = house_of("owner"), house_of(None)
    owner.client.app.state.knocks = _Patient()  # type: ignore[attr-defined]
    return owner, nobody


def stored(house: House) -> str:
    with house.database.session() as session:
        return json.dumps([export_document(session, row.key) for row in list_households(session)])


@examples(60)
@given(token=NONSENSE)
def test_no_nonsense_is_a_token(guarded: tuple[House, House], token: str) -> None:
    """In the address, in the cookie, or asked of the store itself."""
    _, nobody = guarded
    nobody.client.cookies.clear()
    # One that ends in a slash is sent to the same without it, and refused there.
    assert nobody.client.get(f"/link/{quote(token, safe='')}", follow_redirects=True).status_code in (403, 404)
    held = quote(token, safe="")
    assert nobody.client.get("/", headers={"Cookie": f"{COOKIE}={held}"}).status_code == 403
    with nobody.database.session() as session:
        assert find_link(session, token) is None


@examples(60)
@given(data=st.data())
def test_no_nonsense_is_a_key(guarded: tuple[House, House], data: st.DataObject) -> None:
    """Every address, some of its keys right and some not: refused in words, and all stays as it is."""
    owner, _ = guarded
    routes = [one for one in owner.client.app.routes if "{" in one.path]  # type: ignore[attr-defined]
    route = data.draw(st.sampled_from(sorted(routes, key=lambda one: (one.path, one.name))), label="route")
    right = {"household_key": owner.key, "scenario_key": owner.address().rpartition("/")[2]}
    names = re.findall(r"{(\w+)}", route.path)
    wrong = data.draw(st.sampled_from(names), label="wrong")
    # Steps in a path are taken before anything is sent.
    text = data.draw(NONSENSE.filter(lambda one: one not in (*right.values(), ".", "..")), label="text")
    keys = right | {"run_key": owner.run_key("wash-1"), "appliance_key": "0" * 32, "record_key": "0" * 32}
    keys |= {"link_key": "0" * 32, "token": "0" * 32, "name": "none", "revision": "1"} | {wrong: quote(text, safe="")}
    address = re.sub(r"{(\w+)}", lambda found: keys[found[1]], route.path)
    before = stored(owner)
    answer = owner.client.request(sorted(route.methods)[0], address, params={"seconds": "0"}, follow_redirects=False)

    is_waiting = route.name == "wait"  # it tells nothing, whatever is asked
    is_real = wrong == "revision" and text.strip().isdecimal() and 0 < len(text) < 10
    assert is_waiting or is_real or answer.status_code in (303, 307, 403, 404, 405, 422), answer.status_code
    assert stored(owner) == before
