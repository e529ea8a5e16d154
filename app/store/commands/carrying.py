"""What a change of appliances, circuits or arrays means for plans that have such a thing of their own."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from app.household.carrying import NAMED_BY, carried
from app.store.mapping import Piece, put_together
from app.store.stored import StoredHousehold

_LISTS = {("supply", part) for part in NAMED_BY}


def carrying(current: StoredHousehold, changed: tuple[Piece, ...]) -> tuple[Piece, ...]:
    """Changed pieces, and those of the plans whose own appliances, circuits or arrays come along with them."""
    if not any(piece.kind in ("scenario", "appliance") or (piece.kind, piece.name) in _LISTS for piece in changed):
        return changed
    by_key = {piece.key: piece for piece in changed}
    pieces = current.pieces | by_key
    plans = carried(put_together(current.pieces.values()), put_together(pieces.values()))["scenarios"]
    for piece in _along(pieces, {plan["id"]: plan for plan in plans}):
        by_key[piece.key] = replace(piece, revision=current.revision + 1)
    return tuple(by_key.values())


def _along(pieces: dict[str, Piece], plans: dict[str, Any]) -> Iterator[Piece]:
    for piece in pieces.values():
        if piece.kind != "scenario" or piece.removed:
            continue
        said, follows = piece.document.get("changes") or {}, plans[piece.name].get("changes") or {}
        own = {part: follows[part] for part in ("supply", "appliances") if follows.get(part) != said.get(part)}
        if own:
            yield replace(piece, document=piece.document | {"changes": said | own})
