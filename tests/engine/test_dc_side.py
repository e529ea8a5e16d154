"""The battery side: voltage dips, what it cannot deliver, temperature, the peak's seconds."""

import math

import pytest

from tests.engine.home import house, limits, load, steady

WEAK = {"module_resistance_ohm": 0.5, "modules": 5}  # 0.1 ohm in all


def test_the_reading_says_at_which_resting_voltage() -> None:
    """16 LFP cells at a reserve of 20 %: 16 x 3.169 V (reference value B12)."""
    assert limits(house(steady("base", 100)))["battery_voltage"]["open_circuit_v"] == pytest.approx(16 * 3.169)


def test_the_current_solves_the_bank_with_its_resistance() -> None:
    """(V - I R) I = P: by the quadratic's own formula."""
    reading = limits(house(steady("base", 3000), battery=WEAK))["battery_continuous"]
    volts, ohm = 16 * 3.169, 0.1
    dc_w = (volts - reading["use"] * ohm) * reading["use"]

    full = (1 / 0.93 - 1 - 40 / 4000, 1 / 0.95 - 1 - 40 / 1200)
    per_w2 = (full[0] - full[1]) / (4000 - 1200)
    per_w = full[0] - per_w2 * 4000
    assert dc_w == pytest.approx(3000 + 40 + per_w * 3000 + per_w2 * 3000**2)
    assert reading["use"] < volts / (2 * ohm)


def test_what_the_bank_cannot_deliver_breaks_voltage_and_peak() -> None:
    """4 P R above V squared: shown as V/2 and V/2R."""
    found = limits(house(steady("base", 3900), battery={"module_resistance_ohm": 2, "modules": 5}))
    volts, ohm = 16 * 3.169, 0.4

    assert found["battery_voltage"]["use"] == pytest.approx(volts / 2)
    assert found["battery_voltage"]["verdict"] == "over"
    assert found["battery_peak"]["use"] == pytest.approx(volts / (2 * ohm))
    assert found["battery_peak"]["verdict"] == "over"


@pytest.mark.parametrize(("delay_s", "verdict"), [(0, "over"), (0.5, "over"), (1.0, "over"), (1.5, "tight")])
def test_a_dip_shorter_than_the_inverter_waits_passes_and_is_shown(delay_s: float, verdict: str) -> None:
    """A start of one second pulls the bank below the cut-off."""
    motor = load("motor", 800, start={"va": 6000, "power_factor": 0.5, "duration_s": 1})
    found = limits(house(motor, runs={"motor": "10:00"}, battery=WEAK,
                         inverter={"cut_off_v": 47, "cut_off_delay_s": delay_s}))["battery_voltage"]  # fmt: skip

    assert found["use"] < 47
    assert found["verdict"] == verdict


def test_a_cold_bank_gives_less() -> None:
    """Factor 0.5 at -10 degC, 1 at 10: at 0 degC three quarters."""
    cold = limits(house(steady("base", 100), day={"ambient_c": [[0, 0]]}))["battery_continuous"]

    assert cold["limit"] == pytest.approx(10 * 200 / 1.1 * 0.75)


def test_one_module_shares_with_nobody() -> None:
    """Sharing counts from two modules on."""
    assert limits(house(steady("base", 100), battery={"modules": 1}))["battery_continuous"]["limit"] == 200


def test_above_the_continuous_current_the_peaks_seconds_count() -> None:
    """A kettle of 20 s is within the 60 s allowed, one of 90 s is not."""

    def verdict(seconds: float) -> str:
        document = house(
            load("kettle", 3000, seconds), runs={"kettle": "10:00"},
            battery={"modules": 1, "continuous_discharge_a": 40, "peak_discharge_a": 100},
        )  # fmt: skip
        return str(limits(document)["battery_continuous"]["verdict"])

    assert (verdict(20), verdict(90)) == ("short_time", "over")


def test_the_fuse_sees_running_draws_only() -> None:
    """A start above it is no matter for a fuse."""
    motor = load("motor", 800, start={"va": 8000, "power_factor": 0.9, "duration_s": 1})
    fuse = limits(house(motor, runs={"motor": "10:00"}, battery={"dc_fuse_a": 30}))["dc_fuse"]

    assert fuse["verdict"] == "fits"
    assert fuse["use"] < 20


def test_uncertainties_add_in_quadrature() -> None:
    """1000 W and 500 W, both 10 %: 1500 + sqrt(100^2 + 50^2)."""
    found = limits(house(steady("a", 1000, uncertainty=0.1), steady("b", 500, uncertainty=0.1)))

    assert found["inverter_continuous"]["use"] == pytest.approx(1500 + math.hypot(100, 50))
    assert sum(one["w"] for one in found["inverter_continuous"]["contributors"]) == pytest.approx(1500)


def test_after_a_cut_the_voltage_counts_as_well() -> None:
    """The restart fits the inverter's top level and still pulls the bank too low; the motor is to be off."""
    motor = steady("motor", 300, start={"va": 6000, "power_factor": 0.8, "duration_s": 1})
    found = limits(house(motor, steady("base", 100), battery=WEAK, inverter={"cut_off_v": 46}))["cold_restart"]

    assert found["margin"] > 0
    assert found["verdict"] == "over"
    assert found["switch_off"] == ["motor"]
