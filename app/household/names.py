"""Names by which people tell their plans, appliances and households apart."""

from collections.abc import Collection

LONGEST_NAME = 200
LONGEST_ID = 100
LONGEST_NOTE = 2000


def same_name(one: str, other: str) -> bool:
    """Whether people would take two names for the same.

    >>> same_name("Laundry day", " laundry  DAY")
    True
    """
    return _plain(one) == _plain(other)


def free_name(wanted: str, taken: Collection[str], number: int = 1) -> str:
    """A name nobody has yet, not longer than a name may be: the wanted one, or with the next number.

    number: the first one to be tried; 1 stands for none. Behind a figure it stands in brackets, or it would read as
    one more.

    >>> free_name("Plan", ["plan", "Plan 2"]), len(free_name("x" * 300, [])), free_name("Saw, 2 hp", ["Saw, 2 hp"])
    ('Plan 3', 200, 'Saw, 2 hp (2)')
    """
    plain = {_plain(name) for name in taken}
    behind = " ({})" if any(sign.isdigit() for sign in wanted) else " {}"
    while True:
        after = "" if number == 1 else behind.format(number)
        found = f"{shortened(wanted, LONGEST_NAME - len(after))}{after}"
        if _plain(found) not in plain:
            return found
        number += 1


def copy_name(name: str, taken: Collection[str]) -> str:
    """The name offered for a copy: the `, copy` stays whole, however long the name is.

    >>> copy_name("Laundry day", ["Laundry day", "Laundry day, copy"])
    'Laundry day, copy 2'
    """
    after = ", copy"
    room = LONGEST_NAME - len(after) - 4  # for the number, up to 999
    return free_name(f"{shortened(name, room)}{after}", taken)


def shortened(text: str, longest: int) -> str:
    """A text at its full length, or cut with a sign that something is missing.

    >>> shortened("Laundry day", 20), shortened("Laundry day", 8)
    ('Laundry day', 'Laundry…')
    """
    return text if len(text) <= longest else f"{text[: longest - 1].rstrip()}\u2026"


def taken_words(what: str, name: str, taken: Collection[str]) -> str:
    """What is said of a name another one has. what: `plan`, `household` or `appliance`."""
    article = "an" if what[0] in "aeiou" else "a"
    return f"there is {article} {what} of that name already; give another, such as {free_name(name, taken)}"


def _plain(name: str) -> str:
    return " ".join(name.split()).casefold()
