"""Records of sun: weather files read, judged and kept whole, so that a plan can take a day out of them."""

from app.engine.weather.kept import from_bytes, to_bytes
from app.engine.weather.reading import LARGEST_BYTES, read_record
from app.engine.weather.record import DayTaken, Record, ambient_points
from app.engine.weather.rows import Clock, Stamps

__all__ = [
    "LARGEST_BYTES",
    "Clock",
    "DayTaken",
    "Record",
    "Stamps",
    "ambient_points",
    "from_bytes",
    "read_record",
    "to_bytes",
]
