"""Cautions of the built-in library, at the appliance."""

_HAZARDS = {
    "medical_device": "Not for planning by odds: ask the supplier of the device for a supply that cannot fail.",
    "no_volt_release": "Without a no-volt release it starts again by itself when power comes back after a cut.",
    "not_unattended": "Never unattended or while everybody sleeps.",
    "wait_before_restart": "Wait 5 minutes before starting its compressor again.",
}


def hazard(code: str) -> str:
    """What may hurt, in words."""
    return _HAZARDS[code]
