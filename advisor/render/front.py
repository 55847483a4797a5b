"""What goes to the machine, over all faces: tables of every step, and each sentence once with its steps."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from advisor.render import particulars, steps, words
from advisor.render.speech import Speech
from advisor.sheet.model import Feature, Sheet, Stage, Step

#: A place of the sheet: a face and the number of a step.
Place = tuple[str, int]
#: A sentence and one of the places that it holds for.
Said = tuple[str, Place]

_GO_ON = "Go on when "
_SENTENCE_END = re.compile(r"(?<=[.!?]) (?=[A-Z])")
_AMOUNT = re.compile(r"\b\d[\d.]* (?:%|(?:mm|in|m/s|ft/min)\b(?: \([^)]*\))?)")
_STAGES: tuple[tuple[Stage, ...], ...] = (
    ("clear",), ("refine",), ("prepare",), ("finish",), ("clear", "refine"), ("refine", "finish"),
)  # fmt: skip


@dataclass(frozen=True)
class Line:
    """A sentence and the steps it is for; no steps where the sentence names them."""

    at: str
    text: str


@dataclass(frozen=True)
class Remedy:
    """What may be seen, and what to do about it at which steps."""

    seen: str
    cures: tuple[Line, ...]


@dataclass(frozen=True)
class Front:
    """The sheet as a whole, with names for its steps that are as short as they may be."""

    speech: Speech

    def rows(self) -> list[steps.Row]:
        """Every step, with a label that names its face where there are several."""
        return [
            steps.Row(f"{self._at(feature.name, [step.number])} {step.stage}", feature.name, step)
            for feature, step in self._steps()
        ]

    def wheels(self) -> words.Table | None:
        """Each wheel once, with the steps that run on it; None where no step has one."""
        if not any(step.wheel or step.station for _, step in self._steps()):
            return None
        found: dict[tuple[str, ...], list[Place]] = {}
        for feature, step in self._steps():
            cells = tuple(steps.wheel_cells(step, self.speech))
            found.setdefault(cells, []).append((feature.name, step.number))
        rows = [[self.at(places), *cells] for cells, places in found.items()]
        return words.speaking(steps.WHEEL_HEAD, rows)

    def abrasives(self) -> list[Line]:
        """How the abrasive is made."""
        return self._once(
            (particulars.construction(step, self.speech), feature, step) for feature, step in self._steps()
        )

    def directions(self) -> list[Line]:
        """Which way to go; the face is named in front, so not in the sentence again."""
        return self._once(
            (self._prose(step.direction.replace(f" on the {feature.name}", "")), feature, step)
            for feature, step in self._steps()
            if step.direction
        )

    def go_on(self) -> list[Line]:
        """What must be met before the next step, each set of steps with all that holds for it."""
        found: dict[str, list[str]] = {}
        for line in self._checks(met=True):
            found.setdefault(line.at, []).append(line.text.removesuffix("."))
        return [Line(at, words.sentence("; ".join(texts))) for at, texts in found.items()]

    def besides(self) -> list[Line]:
        """What else is to be done or known at a step: heat, broken limits, figures to be trusted less."""
        return self._checks(met=False) + self._once(
            (f"{label}: {text}", feature, step)
            for feature, step in self._steps()
            for label, text in particulars.warnings(step, self.speech)
        )

    def _checks(self, met: bool) -> list[Line]:
        return self._once(
            (self._prose(check.removeprefix(_GO_ON)), feature, step)
            for feature, step in self._steps()
            for check in step.go_on_when
            if check.startswith(_GO_ON) is met
        )

    def remedies(self) -> list[Remedy]:
        """What is seen and, sentence by sentence, what to do about it and at which steps, each once."""
        found: dict[str, dict[str, list[Place]]] = {}
        for feature, step in self._steps():
            for remedy in step.if_not:
                seen, _, cure = self._prose(remedy).partition(": ")
                for each in _SENTENCE_END.split(words.upper(cure)):
                    found.setdefault(seen, {}).setdefault(each, []).append((feature.name, step.number))
        return [Remedy(seen, self._cures(cures)) for seen, cures in found.items()]

    def _cures(self, cures: dict[str, list[Place]]) -> tuple[Line, ...]:
        together: dict[str, list[str]] = {}
        for cure, places in cures.items():
            together.setdefault(self.at(places), []).append(cure)
        return tuple(Line(at, " ".join(told)) for at, told in together.items())

    def life(self) -> list[Line]:
        """When media come off or are moved in, and how fast they may run, each once with its steps."""
        out = (
            words.sentence(self.speech.prose(step.wear.change_out))
            if step.wear is not None and step.wear.change_out
            else None
            for _, step in self._steps()
        )
        moved = (particulars.touch_off(step, self.speech) for _, step in self._steps())
        marked = (particulars.fastest(step, self.speech) for _, step in self._steps())
        places = [(feature.name, step.number) for feature, step in self._steps()]
        return [
            line
            for told in (out, moved, marked)
            for line in self._by_amount((text, place) for text, place in zip(told, places, strict=True) if text)
        ]

    def _by_amount(self, said: Iterable[Said]) -> Iterator[Line]:
        """Sentences that differ in their first amount alone become one, with the steps behind each amount."""
        alike: dict[str, dict[str, list[Place]]] = {}
        for text, place in said:
            found = _AMOUNT.search(text)
            shape = text if found is None else f"{text[: found.start()]}\0{text[found.end() :]}"
            alike.setdefault(shape, {}).setdefault(found[0] if found else "", []).append(place)
        for shape, amounts in alike.items():
            if len(amounts) == 1:
                ((amount, places),) = amounts.items()
                yield Line(self.at(places), shape.replace("\0", amount))
            else:
                told = ", ".join(f"{amount} for {self.at(places)}" for amount, places in amounts.items())
                yield Line("", shape.replace("\0", told))

    def loads(self) -> list[Line]:
        """Power, contact, heat, what bounds the force and how much of a limit is used, step by step."""
        return [
            Line(self._at(feature.name, [step.number]), " ".join(told))
            for feature, step in self._steps()
            if (told := particulars.loads(step, self.speech))
        ]

    def schedules(self) -> words.Table | None:
        """Settings for each wheel that shrinks as it wears, or None."""
        rows: list[list[str]] = []
        head: list[str] = []
        for feature, step in self._steps():
            table = steps.wear(step, self.speech)
            if table is not None:
                head = ["Step", *table.head] if len(table.head) >= len(head) - 1 else head
                label = self._at(feature.name, [step.number])
                rows += [[label, *row, *([""] * (len(head) - 1 - len(row)))] for row in table.rows]
        return words.Table(head, rows) if rows else None

    def at(self, places: Iterable[Place]) -> str:
        """Steps of faces in short, each face once; where all steps of a stage are meant, the stage."""
        wanted = dict.fromkeys(places)
        if len(wanted) > 1:
            everywhere = {(feature.name, step.number): step.stage for feature, step in self._steps()}
            if len(wanted) == len(everywhere):
                return "all steps"
            for stages in _STAGES:
                if set(wanted) == {place for place, stage in everywhere.items() if stage in stages}:
                    return words.join(list(stages))
        faces: dict[str, list[int]] = {}
        for face, number in wanted:
            faces.setdefault(face, []).append(number)
        return "; ".join(self._at(face, numbers) for face, numbers in faces.items())

    @property
    def sheet(self) -> Sheet:
        """The sheet that is told."""
        return self.speech.sheet

    def _at(self, face: str, numbers: list[int]) -> str:
        listed = words.join([str(number) for number in numbers])
        return f"step {listed}" if len(self.sheet.features) == 1 else f"{face} {listed}"

    def _steps(self) -> Iterator[tuple[Feature, Step]]:
        return ((feature, step) for feature in self.sheet.features for step in feature.steps)

    def _prose(self, text: str) -> str:
        return words.sentence(self.speech.prose(text))

    def _once(self, said: Iterable[tuple[str | None, Feature, Step]]) -> list[Line]:
        """Each sentence once, with the steps it is for, in the order they are met."""
        found: dict[str, list[Place]] = {}
        for text, feature, step in said:
            if text:
                found.setdefault(text, []).append((feature.name, step.number))
        return [Line(self.at(places), text) for text, places in found.items()]
