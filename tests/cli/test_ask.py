"""The interview asks for a whole job, takes "don't know" everywhere, and never loses an answer in silence."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.ask.answers import is_dont_know, offers
from advisor.ask.face_questions import FACE
from advisor.ask.interview import (
    Interview,
    answer,
    back,
    dont_know,
    draft,
    how_to_find_out,
    next_question,
)
from advisor.ask.job_text import job_text
from advisor.ask.question import Question
from advisor.ask.questions import FIRST, LAST, STAND_INS
from advisor.errors import InputError
from advisor.job import parse_job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.strict_yaml import load
from tests.cli.conftest import Run

ALL: tuple[Question, ...] = (*FIRST, *FACE, *LAST)

# Question by question: name, alloy, defect, also, depth, then one face, then the rest.
PLAIN = [
    "gate-arm", "316L", "parting-line", "heat-tint", "0.25 mm",
    "outer sweep", "convex", "18 mm", "30 mm", "200 mm x 20 mm", "", "A", "no",
    "none", "satin-fine", "coastal", "0.9 kg", "180 mm", "4 mm", "high", "robot-floor-stand", "400",
]  # fmt: skip


@pytest.fixture(scope="module")
def knowledge() -> Knowledge:
    return load_knowledge()


def typed(answers: Sequence[str]) -> str:
    return "".join(f"{text}\n" for text in answers)


def hold(answers: Sequence[str], knowledge: Knowledge) -> Interview:
    """An interview with the answers in turn; whatever is left over or missing is a mistake of the test."""
    interview = Interview()
    for text in answers:
        asked = next_question(interview, knowledge)
        assert asked is not None
        if is_dont_know(text):
            interview, _ = dont_know(interview, asked, knowledge)
        else:
            interview = answer(interview, asked, text, knowledge)
    return interview


def ask_on(interview: Interview, knowledge: Knowledge) -> Interview:
    """Don't know, to the end."""
    for _ in range(60):
        asked = next_question(interview, knowledge)
        if asked is None:
            return interview
        interview, _ = dont_know(interview, asked, knowledge)
    raise AssertionError("the questions do not end")


# -------------------------------------------------------------------------------- the questions as data


def test_every_question_has_words_for_those_who_do_not_know(knowledge: Knowledge) -> None:
    assert len({question.key for question in ALL}) == len(ALL)
    for question in ALL:
        assert question.asks.rstrip(".").endswith(("?", "no")), question.asks
        assert question.unknown[-1].when is None  # something is always taken
        assert all(taken.say.endswith(".") for taken in question.unknown)
        if question.key != "start.depth":  # there the defect's own row tells it
            assert question.find_out


def test_what_is_offered_and_presumed_exists(knowledge: Knowledge) -> None:
    assert set(STAND_INS.values()) <= set(knowledge.tables.alloys)
    for question in ALL:
        keys = [offer.key for offer in offers(question, knowledge)]
        for taken in question.unknown:
            if keys and taken.value is not None:
                assert taken.value in keys, question.key


def test_the_choices_are_those_of_the_reader(knowledge: Knowledge) -> None:
    base = hold(PLAIN, knowledge)
    at = {given.asked.question.key: place for place, given in enumerate(base.answers)}
    for question in ALL:
        if question.kind != "choice" or question.key not in at:
            continue
        for offer in question.offers:
            interview = Interview(base.answers[: at[question.key]])
            asked = next_question(interview, knowledge)
            assert asked is not None
            assert answer(interview, asked, offer.key, knowledge).answers[-1].value == offer.key


# ------------------------------------------------------------------------------------- pure interview


def test_the_answers_become_the_job(knowledge: Knowledge) -> None:
    interview = hold(PLAIN, knowledge)
    assert next_question(interview, knowledge) is None
    assert draft(interview) == {
        "name": "gate-arm",
        "alloy": "s31603",
        "part": {"mass": "0.9 kg", "size": "180 mm", "wall": "4 mm", "contour": "high"},
        "start": {"defect": "parting-line", "also": ["heat-tint"], "depth": "0.25 mm"},
        "features": [
            {
                "name": "outer sweep",
                "shape": "convex",
                "radius": "18 mm",
                "width": "30 mm",
                "area": "40 cm2",  # 20 cm x 2 cm
                "visible": "A",
            }
        ],
        "finish": "satin-fine",
        "environment": "coastal",
        "after": "none",
        "cell": "robot-floor-stand",
        "batch": 400,
    }


@pytest.mark.parametrize(
    ("place", "text", "value"),
    [
        (2, "2", "parting-line"),
        (2, "Parting Line", "parting-line"),
        (3, "8, burr", ("heat-tint", "burr")),
        (3, "no", None),
        (4, "0.1 to 0.3 mm", ("0.1 mm", "0.3 mm")),
        (4, "0.1 mm .. 0.3 mm", ("0.1 mm", "0.3 mm")),
        (4, "0.010 in", "0.010 in"),
        (6, "it bulges: a ruler rocks on it", "convex"),
        (9, "40 cm2", "40 cm2"),
        (9, "2 x 4 in", "51.6128 cm2"),  # 8 square inches of 6.4516 cm2
        (12, "n", "no"),
        (14, "fine satin", "satin-fine"),
        (14, "BHMA 630", "BHMA 630"),
        (20, "robot carries the part to floor stands", "robot-floor-stand"),
    ],
)
def test_an_answer_may_be_a_number_a_name_or_a_size(
    place: int, text: str, value: object, knowledge: Knowledge
) -> None:
    interview = hold([*PLAIN[:place], text], knowledge)
    assert interview.answers[-1].value == value
    assert interview.answers[-1].known
    assert "None" not in interview.answers[-1].shown


@pytest.mark.parametrize(
    ("place", "text", "says"),
    [
        (1, "361L", "nearest: s31603 (316L)"),
        (2, "parting-lin", "nearest: parting-line"),
        (2, "99", "allowed: 1 to 22"),
        (3, "heat-tint, bur", "nearest: burr"),
        (4, "0.25", "a length needs a unit"),
        (4, "3 kg", "3 kg is a mass"),
        (4, "0.3 to 0.1 mm", "the wrong way round"),
        (4, "nan mm", "must be finite"),
        (5, "x" * 81, "longer than 80 characters"),
        (6, "round", "allowed: 1 to 4"),
        (7, "-5 mm", "outside what is possible"),
        (9, "3 x 4", "a length needs a unit"),
        (12, "perhaps", "allowed: 1 to 2, or yes, no"),
        (14, "AA-M32", "not for alloys of the group stainless"),
        (14, "satin-fin", "nearest: satin-fine"),
        (18, "400 mm", "larger than the part's longest side"),
        (20, "robot-stand", "allowed: 1 to"),
        (21, "many", "a whole number is needed"),
        (21, "0", "outside what is possible"),
    ],
)
def test_a_wrong_answer_is_refused_at_once(place: int, text: str, says: str, knowledge: Knowledge) -> None:
    interview = hold(PLAIN[:place], knowledge)
    asked = next_question(interview, knowledge)
    assert asked is not None
    with pytest.raises(InputError) as caught:
        answer(interview, asked, text, knowledge)
    assert says in str(caught.value)
    assert "features[" not in str(caught.value)  # the user knows no paths


def test_two_faces_of_one_name_are_refused(knowledge: Knowledge) -> None:
    interview = hold([*PLAIN[:12], "yes"], knowledge)
    asked = next_question(interview, knowledge)
    assert asked is not None
    assert asked.id == "face.2.name"
    with pytest.raises(InputError, match="two features of one name"):
        answer(interview, asked, "Outer sweep", knowledge)


def test_questions_follow_from_the_answers(knowledge: Knowledge) -> None:
    def keys(answers: Sequence[str]) -> list[str]:
        done = ask_on(hold(answers, knowledge), knowledge)
        return [given.asked.question.key for given in done.answers]

    assert "metal" not in keys(["a", "316L"])
    assert "metal" in keys(["a", "?"])
    assert "start.felt" not in keys(PLAIN[:5])
    assert "start.felt" in keys([*PLAIN[:4], "?"])
    assert "start.coating" in keys(["a", "316L", "paint"])
    assert "start.coating" in keys(["a", "316L", "burr", "paint"])
    assert "start.coating" not in keys(["a", "316L", "burr"])
    assert "face.radius" in keys([*PLAIN[:6], "concave"])
    assert "face.radius" not in keys([*PLAIN[:6], "flat"])
    assert "face.edge_radius" in keys([*PLAIN[:6], "edge"])


def test_back_takes_the_last_answer_away(knowledge: Knowledge) -> None:
    interview = hold(PLAIN[:7], knowledge)
    again = back(interview)
    asked = next_question(again, knowledge)
    assert asked is not None
    assert asked.question.key == "face.shape"
    assert again == hold(PLAIN[:6], knowledge)
    assert back(Interview()) == Interview()


@pytest.mark.parametrize("metal", ["?", *STAND_INS])
def test_nobody_needs_to_know_anything(metal: str, knowledge: Knowledge) -> None:
    interview = ask_on(hold(["?", "?", metal], knowledge), knowledge)
    job = parse_job(draft(interview), knowledge)
    assert job.alloy == STAND_INS["magnesium" if metal == "?" else metal]
    assert job.features[0].name == "face 1"
    cast = knowledge.tables.alloys[job.alloy].cast
    assert job.features[0].start.defect == ("casting-skin" if cast else "mill-surface")


@pytest.mark.parametrize(
    ("after", "finish"), [("paint", "keyed-paint"), ("plate", "plate-ready"), ("none", "satin-medium")]
)
def test_an_unknown_finish_follows_from_what_comes_after(
    after: str, finish: str, knowledge: Knowledge
) -> None:
    interview = ask_on(hold([*PLAIN[:13], after], knowledge), knowledge)
    assert draft(interview)["finish"] == finish


def test_how_to_measure_a_depth_is_told_by_the_defect(knowledge: Knowledge) -> None:
    interview = hold(PLAIN[:4], knowledge)
    asked = next_question(interview, knowledge)
    assert asked is not None
    assert how_to_find_out(interview, asked, knowledge) == knowledge.tables.defects["parting-line"].find_out


# ------------------------------------------------------------------------------------------ the job file


@pytest.mark.parametrize("upto", range(0, len(PLAIN) + 1, 3))
def test_the_saved_job_is_the_job_that_was_asked_for(upto: int, knowledge: Knowledge) -> None:
    interview = ask_on(hold(PLAIN[:upto], knowledge), knowledge)
    text = job_text(interview, knowledge)
    assert parse_job(load(text, "job.yaml"), knowledge) == parse_job(draft(interview), knowledge)
    assert all(len(line) <= 100 for line in text.splitlines())


@pytest.mark.parametrize(
    "name", ["no", "1018", "12:30", "a: b", "# x", "- a", "it's", '1/4" rod', "[a", "{", "*a", "Tür", "~"]
)
def test_any_name_survives_the_job_file(name: str, knowledge: Knowledge) -> None:
    interview = hold([name, *PLAIN[1:5], name, *PLAIN[6:]], knowledge)
    job = parse_job(load(job_text(interview, knowledge), "job.yaml"), knowledge)
    assert job.name == name
    assert job.features[0].name == name


WORDS = st.one_of(
    st.sampled_from(
        ["", "?", "1", "2", "3", "yes", "no", "316L", "brass", "paint", "concave", "18 mm", "0.1 to 0.2 mm"]
    ),
    st.text(max_size=12),
)


@settings(max_examples=30, deadline=None)
@given(st.lists(WORDS, max_size=30))
def test_whatever_is_answered_the_job_stays_sound(answers: list[str]) -> None:
    knowledge = load_knowledge_once()
    interview = Interview()
    for text in answers:
        asked = next_question(interview, knowledge)
        if asked is None:
            break
        if is_dont_know(text):
            interview, _ = dont_know(interview, asked, knowledge)
            continue
        try:
            interview = answer(interview, asked, text, knowledge)
        except InputError as error:
            assert all(problem.place == "" for problem in error.problems)
    unfinished = job_text(interview, knowledge, finished=False)
    assert load(unfinished, "job.yaml") is not None
    done = ask_on(interview, knowledge)
    assert parse_job(load(job_text(done, knowledge), "j"), knowledge) == parse_job(draft(done), knowledge)


_ONCE: list[Knowledge] = []


def load_knowledge_once() -> Knowledge:
    if not _ONCE:
        _ONCE.append(load_knowledge())
    return _ONCE[0]


# -------------------------------------------------------------------------------------------- the command


def test_ask_asks_saves_and_recommends(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    done = run("ask", "--save", str(path), "--format", "json", typed=typed(PLAIN))
    assert done.code == 0
    assert "1. What do you call this job?" in done.err
    assert "Radius: 18 mm" in done.err
    assert f"The job is saved in {path}." in done.err
    assert done.out.startswith("{")
    assert run("recommend", str(path), "--format", "json").out == done.out


def test_ask_takes_a_dont_know_to_every_question(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    done = run("ask", "--save", str(path), typed=typed(["?"] * 40))
    assert done.code in (0, 1)
    assert done.out.startswith("# ")
    flat = " ".join(done.err.split())
    for says in (
        "To find out: Hold a magnet to it.",
        "taken as magnesium",
        "Find out before the work begins.",
    ):
        assert says in flat
    assert "not known; this is taken for now" in path.read_text(encoding="utf-8")


def test_ask_asks_again_goes_back_and_tells_the_nearest(run: Run) -> None:
    answers = ["<", "gate-arm", "361L", "316L", "parting-line", "<", "burr", *PLAIN[3:], "<", "12", ""]
    done = run("ask", "--format", "json", typed=typed(answers))
    assert done.code == 0
    assert "This is the first question." in done.err
    assert "nearest: s31603 (316L)" in done.err
    assert "What must go: burr (" not in done.err  # its name is its key
    assert "What must go: burr" in done.err
    assert done.err.count("How many parts are in the batch?") == 2
    assert '"batch": 12' in done.out


def test_an_early_end_says_so_and_keeps_the_answers(run: Run, tmp_path: Path, knowledge: Knowledge) -> None:
    path = tmp_path / "job.yaml"
    done = run("ask", "--save", str(path), typed=typed(PLAIN[:7]))
    assert done.code == 2
    assert done.out == ""
    last = " ".join(done.err.splitlines()[-1].split())
    assert "standard input: ended before this was answered: What is its tightest radius?" in last
    assert f"The 7 answers so far are kept in {path}.unfinished" in last
    assert not path.exists()
    kept = load(Path(f"{path}.unfinished").read_text(encoding="utf-8"), "x")
    assert kept.value["alloy"].raw == "s31603"
    assert kept.value["features"].value[0].value["shape"].raw == "convex"


def test_an_early_end_without_save_says_that_nothing_is_kept(run: Run) -> None:
    done = run("ask", typed="gate-arm\n")
    assert done.code == 2
    assert "Nothing is saved." in done.err
    assert run("ask", typed="").code == 2


def test_an_interrupt_keeps_the_answers(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from advisor.cli import asking

    lines = iter(["gate-arm\n", "316L\n"])

    def line() -> str:
        try:
            return next(lines)
        except StopIteration:
            raise KeyboardInterrupt from None

    monkeypatch.setattr(asking, "typed_line", line)
    done = run("ask", "--save", str(tmp_path / "job.yaml"))
    assert done.code == 130
    assert "The 2 answers so far are kept in" in done.err
    assert (tmp_path / "job.yaml.unfinished").exists()


def test_ask_never_overwrites_a_job(run: Run, job: Path) -> None:
    before = job.read_text(encoding="utf-8")
    done = run("ask", "--save", str(job), typed=typed(PLAIN))
    assert done.code == 2
    assert "is there already and is not overwritten" in done.err
    assert job.read_text(encoding="utf-8") == before
    assert run("ask", "--save", str(job.parent), typed=typed(PLAIN)).code == 2


def test_binary_answers_are_refused(run: Run) -> None:
    done = run("ask", typed=b"\xff\xfe\n")
    assert done.code == 2
    assert "cannot be read as text" in done.err


def test_ask_works_with_a_pipe(process: Run, tmp_path: Path) -> None:
    done = process("ask", "--save", "job.yaml", typed=typed(PLAIN))
    assert done.code == 0, done.err
    assert done.out.startswith("# ")
    assert (tmp_path / "job.yaml").is_file()
