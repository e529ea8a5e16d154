"""The sentence of every story and of every plan of the demo, as they were last read and found good.

After a wanted change of words or figures write them anew and read every changed line before keeping it:

    python -m tests.stories.golden
"""

import json
from pathlib import Path

from app.household.demo import demo_text
from tests.households import assessed
from tests.stories import test_1_wash_tap_and_kettle as wash_tap_and_kettle
from tests.stories import test_2_the_warm_cupboard as the_warm_cupboard
from tests.stories import test_3_heat_memory as heat_memory
from tests.stories import test_4_a_drive_is_not_a_capacitor as a_drive
from tests.stories import test_5_workshop_on_60_m as workshop
from tests.stories.thornbeck import Document

FILE = Path(__file__).with_name("golden_sentences.json")


def stories() -> dict[str, Document]:
    """Each story's households by a name that says what is on."""
    return {
        "1 the washer heats": wash_tap_and_kettle.wash(pump=False, kettle=False),
        "1 the washer heats, a tap runs": wash_tap_and_kettle.wash(pump=True, kettle=False),
        "1 the washer heats, the kettle boils": wash_tap_and_kettle.wash(pump=False, kettle=True),
        "1 the washer heats, the kettle boils, a tap runs": wash_tap_and_kettle.wash(pump=True, kettle=True),
        "2 the cupboard is as warm as the weather": the_warm_cupboard.firing(0),
        "2 the cupboard is 8 K warmer": the_warm_cupboard.firing(8),
        "2 the cupboard is 16 K warmer": the_warm_cupboard.firing(16),
        "3 oven, 25 minutes on and 5 off": heat_memory.oven(120),
        "3 hob, 3 of 10 seconds": heat_memory.hob(40),
        "3 planer, 40 of 60 seconds": heat_memory.planer(40, 120),
        "3 planer, 30 of 60 seconds": heat_memory.planer(30, 120),
        "4 the drive taken as leading": a_drive.workshop("leading"),
        "4 the drive taken as distortion": a_drive.workshop("distortion"),
        "4 the drive taken as lagging": a_drive.workshop("lagging"),
        "5 cable of 2.5 mm2": workshop.shed(2.5),
        "5 cable of 4 mm2": workshop.shed(4),
        "5 cable of 6 mm2": workshop.shed(6),
        "5 cable of 6 mm2, nobody saws": workshop.shed(6, saw=False),
        "5 cable of 6 mm2, behind a C20": workshop.shed(6, breaker_a=20, curve="C"),
    }


def demo_plans() -> dict[str, tuple[Document, str]]:
    """The plans of Saltmarsh Ferry House, by name."""
    document = json.loads(demo_text())
    return {f"demo: {plan['name']}": (document, plan["id"]) for plan in document["scenarios"]}


def sentences() -> dict[str, str]:
    """What the product says of each of them today."""
    said = {name: assessed(document)["sentence"] for name, document in stories().items()}
    return said | {name: assessed(*plan)["sentence"] for name, plan in demo_plans().items()}


def golden() -> dict[str, str]:
    """What it said when last written."""
    return dict(json.loads(FILE.read_text(encoding="utf-8")))


if __name__ == "__main__":
    FILE.write_text(json.dumps(sentences(), indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
