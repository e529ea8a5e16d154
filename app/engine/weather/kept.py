"""A record as bytes and back: what the store keeps, a tenth of the file's size."""

import io
import json

import numpy as np

from app.engine.weather.record import Record

_PLAIN = ("source", "kind", "utc_offset_h", "step_s", "on", "latitude", "longitude", "is_typical", "notes")
_SUN = "sun_"


def to_bytes(record: Record) -> bytes:
    """A record compressed, every figure as it is."""
    about = {name: getattr(record, name) for name in _PLAIN}
    arrays = {f"{_SUN}{name}": values for name, values in record.sun_w_m2.items()}
    if record.air_c is not None:
        arrays["air_c"] = record.air_c
    held = io.BytesIO()
    np.savez_compressed(held, allow_pickle=False, about=np.frombuffer(json.dumps(about).encode(), np.uint8), **arrays)
    return held.getvalue()


def from_bytes(content: bytes) -> Record:
    """The record of which these are the bytes."""
    with np.load(io.BytesIO(content), allow_pickle=False) as held:
        about = json.loads(held["about"].tobytes())
        arrays = {name: held[name] for name in held.files if name != "about"}
    return Record(
        **about | {"on": tuple(about["on"]), "notes": tuple(about["notes"])},
        sun_w_m2={name.removeprefix(_SUN): values for name, values in arrays.items() if name.startswith(_SUN)},
        air_c=arrays.get("air_c"),
    )
