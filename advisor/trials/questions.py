"""What is asked about a trial, in the order of the trial card."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

Draft = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Question:
    """One question: the field it fills (`measured.ra` goes inside), its words, and an example.

    `needed` questions cannot be passed over. `when` says whether it is asked at all.
    """

    field: str
    asks: str
    like: str = ""
    needed: bool = False
    many: bool = False
    when: Callable[[Draft], bool] = lambda _: True


def _rough(draft: Draft) -> bool:
    return "ra" in draft.get("measured", {})


QUESTIONS: tuple[Question, ...] = (
    Question("job", "Which job? Its file", "rail-bracket.yaml", needed=True),
    Question("feature", "On which feature of the part?", needed=True),
    Question(
        "step",
        "Which step of the sheet? For a step of your own: after, and the step it came after",
        "1, or after 2",
        needed=True,
    ),
    Question("used.media", "What did you work with? The key of the media", "belt", needed=True),
    Question("used.grain", "Which grain?", "ceramic-alumina"),
    Question("used.grade", "Which grade?", "P120, or medium for a web"),
    Question("used.backing", "Which backing?", "J"),
    Question("used.hardness_shore_a", "How hard is the wheel, in Shore A?", "40"),
    Question("used.wheel_diameter", "How large is the wheel today?", "192 mm or 7.5 in"),
    Question("used.lubricant", "Dry, or which lubricant?", "dry"),
    Question("used.force", "Which force?", "45 N or 10 lbf"),
    Question("used.surface_speed", "Which surface speed?", "22 m/s or 4300 ft/min"),
    Question("used.feed", "Which feed?", "40 mm/s or 95 in/min"),
    Question("used.passes", "How many passes?", "6"),
    Question("used.media_age", "How many parts had this media done before?", "12"),
    Question("incoming.defect", "Which defect did this part really have?", "parting-line"),
    Question("incoming.depth", "How deep was it?", "0.25 mm or 0.010 in"),
    Question("incoming.ra", "Which Ra did the part come with?", "3.2 um or 125 uin"),
    Question("measured.ra", "Which Ra did you measure after the step?", "1.2 um or 48 uin"),
    Question("roughness.cutoff", "With which cut-off was that?", "0.8 mm", when=_rough),
    Question("roughness.direction", "Across or along the lay?", "across", when=_rough),
    Question("measured.removal", "How much came off in the whole step?", "85 um or 0.003 in"),
    Question("measured.time", "How long did the step take for a part?", "40 s"),
    Question("measured.parts_per_media", "How many parts does one belt, wheel or disc last?", "60"),
    Question(
        "symptoms", "What looked wrong? Keys of symptoms, with commas between", "chatter, burn", many=True
    ),
    Question("verdict", "Is the part good? pass or fail", "pass", needed=True),
    Question("by", "Who made the trial? Initials", "kt"),
    Question("date", "On which day? Enter is today", "2026-05-04"),
    Question("note", "Anything worth remembering?", "second belt of the roll"),
    Question("photos", "Photos? Their files, with commas between", "before.jpg", many=True),
)
#: Asked instead of every setting where a sheet says what was recommended.
DIFFERED = Question(
    "used", "What was set otherwise than the sheet says? One at a time; Enter: nothing more", "force 50 N"
)
