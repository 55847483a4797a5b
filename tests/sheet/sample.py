"""A hand-written sheet of an invented part, so that views can be tested before and without any planning."""

from __future__ import annotations

from advisor.reasons import Fact, Input, Reason, Trail, source_words
from advisor.sheet.model import (
    Asked,
    Assumed,
    Band,
    Blocked,
    Conflict,
    Contact,
    Dropped,
    Feature,
    FirstTry,
    Flag,
    Handling,
    Heat,
    Knowledge,
    Limit,
    Note,
    Operation,
    PathRival,
    Program,
    Sheet,
    Source,
    Start,
    Step,
    StepRival,
    Target,
    Totals,
    Wear,
    WearPoint,
    Wheel,
    Windows,
    in_reading_order,
)

PRACTICE = source_words("common-practice")
EXCERPT = source_words("standard", "excerpt")
PAPER = source_words("paper", "whole")
MEMORY = source_words("from-memory")

NAMES = {
    "s30400": "304 stainless steel",
    "belt": "belt over a contact wheel",
    "flap-wheel": "flap wheel",
    "nonwoven-flap-wheel": "non-woven flap wheel",
    "ceramic-alumina": "ceramic alumina",
    "aluminium-oxide": "aluminium oxide",
    "J": "J cloth",
    "X": "X cloth",
    "parting-line": "parting line",
    "satin-fine": "fine satin",
    "machining-marks": "machining marks",
}


def band(low: float, expected: float, high: float) -> Band:
    """A band in one short call."""
    return Band(low=low, expected=expected, high=high)


def ruled(text: str, rule: str, **facts: Fact) -> Reason:
    """A reason from a rule of common practice."""
    return Reason(
        kind="ruled", text=text, rule=rule, facts=facts, source="common-practice", source_kind=PRACTICE
    )


CURVE: dict[str, Fact] = {"feature.radius_mm": 22.0, "feature.shape": "convex"}
LIGHT_CLOTH = ruled(
    "A stiff cloth bridges a 22 mm curve, cuts on the crown only and leaves facets.",
    "belt-on-a-radius",
    **CURVE,
)
LINE: dict[str, Fact] = {"depth_mm": 0.25, "alloy.lead": None}
FINE_START = ruled(
    "A cast line of a quarter of a millimetre comes off with P80; coarser scratches must be taken out again.",
    "cast-line-start-grade",
    **LINE,
)
STEP_DOWN = ruled(
    "P120 takes out the scratch of P80 before the web lays its line.", "one-jump-before-the-web"
)
WEB_SATIN = ruled(
    "A web lays a short even line and does not cut deeper than it found.", "web-for-satin", stage="finish"
)
HARD_WHEEL = ruled(
    "A 40 Shore A cover gives way to the curve and still carries the line.", "wheel-on-a-curve"
)
ALONG = Reason(kind="asked", text="The job asks for lines along the part.", facts={"finish.lay": "linear"})
ASKED_FINISH = Reason(kind="asked", text="The job asks for a fine satin.", facts={"finish.key": "satin-fine"})
GRAIN_SIZE = Reason(
    kind="known",
    text="The table of grades gives the mean grain size.",
    source="iso-6344-copies",
    source_kind=EXCERPT,
)
SPINDLE = Reason(
    kind="derived",
    text="The surface speed on a 200 mm wheel gives the spindle speed.",
    formula="rpm_from_surface_speed",
    inputs={"surface speed": Input(value=22.0, unit="m/s"), "diameter": Input(value=200.0, unit="mm")},
)
CONTACT = Reason(
    kind="derived",
    text="The cover flattens against the curve; the contact follows from its hardness.",
    formula="line_contact",
    inputs={"hardness": Input(value=40.0, unit="Shore A"), "force": Input(value=45.0, unit="N")},
    source="gent-1958, johnson-contact",
    source_kind=f"{PAPER}; {source_words('handbook', 'memory')}",
)
REMOVAL = Reason(
    kind="derived",
    text="Removal follows from power and the energy the metal takes to cut.",
    formula="removal_per_pass",
    source="from-memory",
    source_kind=MEMORY,
)
CHEAPEST = Reason(
    kind="chosen", text="P80, P120 and a fine web is the cheapest chain that ends inside the band."
)
TOP_SPEED = Reason(
    kind="limited",
    text="The wheel station turns at no more than 3600 rpm.",
    facts={"cell.station": "wheels"},
)
USUAL = Reason(kind="assumed", text="Nothing speaks for or against it; the usual row of the table is used.")
LIGHT_PART = ruled(
    "A part of 1.2 kg is carried to the tool.", "light-part-to-the-tool", **{"part.mass_kg": 1.2}
)


def _belt(trail: Trail, number: int, grade: str, um: float, ra: Band, removal: Band, time: Band) -> Step:
    first = number == 1
    reasons = {
        "stage": (FINE_START if first else STEP_DOWN,),
        "station": (TOP_SPEED,),
        "media": (FINE_START,),
        "pressure": (HARD_WHEEL,),
        "grain": (CHEAPEST,),
        "grade": (FINE_START if first else STEP_DOWN, CHEAPEST),
        "grain_um": (GRAIN_SIZE,),
        "build": (USUAL,),
        "coat": (USUAL,),
        "top_coat": (USUAL,),
        "backing": (LIGHT_CLOTH,),
        "wheel": (HARD_WHEEL, USUAL),
        "lubricant": (USUAL,),
        "direction": (ALONG,),
        "step_over_mm": (USUAL,),
        "windows": (HARD_WHEEL,),
        "surface_speed_m_s": (FINE_START,),
        "marked_speed_m_s": (USUAL,),
        "rpm": (SPINDLE,),
        "force_n": (HARD_WHEEL,),
        "feed_mm_s": (USUAL,),
        "passes": (REMOVAL,),
        "removal_um": (REMOVAL,),
        "remaining_um": (REMOVAL,),
        "ra_um": (REMOVAL,),
        "time_s": (REMOVAL,),
        "power_w": (REMOVAL,),
        "contact": (CONTACT,),
        "heat": (REMOVAL,),
        "wear": (REMOVAL,),
    }
    return Step(
        number=number,
        stage="clear" if first else "refine",
        station="belts",
        media="belt",
        pressure="medium",
        grain="ceramic-alumina" if first else "aluminium-oxide",
        grade=grade,
        grade_scale="P",
        grain_um=um,
        build="single-layer",
        coat="closed",
        top_coat="none",
        backing="J",
        wheel=Wheel(hardness_shore_a=40, cover="rubber", face="plain", diameter_mm=200, width_mm=50),
        lubricant="dry",
        direction="across the parting line" if first else "along the sweep, across the lines of step 1",
        step_over_mm=30,
        windows=Windows(force_n=(30, 60), surface_speed_m_s=(20, 25), feed_mm_s=(30, 60), rpm=(1910, 2387)),
        surface_speed_m_s=22.0,
        marked_speed_m_s=40.0,
        rpm=2101,
        force_n=45,
        feed_mm_s=40,
        passes=6 if first else 3,
        removal_um=removal,
        remaining_um=band(0, 0, 20) if first else band(0, 0, 0),
        ra_um=ra,
        time_s=time,
        power_w=410,
        contact=Contact(half_width_mm=4.1, mean_pressure_kpa=110),
        heat=Heat(rise_k=48, limit_k=180),
        wear=Wear(parts_per_media=60, change_out="Change the belt when a pass takes half as much again."),
        limits=(
            Limit(
                limit="power of the station",
                value=0.41,
                allowed=3.0,
                unit="kW",
                text="The step draws 0.41 kW of the 3 kW of the station.",
            ),
        ),
        flags=(Flag(formula="line_contact", text="The cover is thinner than the formula was made for."),)
        if first
        else (),
        go_on_when=(
            "The line is gone to the eye and to a fingernail, over its whole length."
            if first
            else f"No line of step {number - 1} is left under a low lamp.",
        ),
        if_not=(
            "Blue or straw tint: lower the force by a quarter and lift between passes.",
            "The belt shines and rubs: raise the force to the upper end of the window, or change the belt.",
        )
        if first
        else (),
        rivals=(
            StepRival(
                decision="backing",
                option="X",
                lost_on="form",
                text="X cloth bridges the curve.",
                reasons=trail.refer(LIGHT_CLOTH),
            ),
        ),
        reasons=trail.refer_all(reasons),
    )


def _web(trail: Trail, number: int) -> Step:
    values = [
        "stage",
        "station",
        "media",
        "pressure",
        "grain",
        "grade",
        "wheel",
        "lubricant",
        "direction",
        "windows",
        "surface_speed_m_s",
        "rpm",
        "force_n",
        "feed_mm_s",
        "passes",
        "removal_um",
        "ra_um",
        "time_s",
        "wear",
    ]
    why = dict.fromkeys(values, (WEB_SATIN,)) | {
        "rpm": (TOP_SPEED,),
        "direction": (ALONG, ASKED_FINISH),
        "ra_um": (REMOVAL,),
    }
    return Step(
        number=number,
        stage="finish",
        station="wheels",
        media="nonwoven-flap-wheel",
        pressure="low",
        grain="aluminium-oxide",
        grade="fine",
        grade_scale="web",
        wheel=Wheel(diameter_mm=200, width_mm=50, edge_radius_mm=3),
        lubricant="dry",
        direction="along the sweep, one way only, the last pass in one stroke",
        windows=Windows(force_n=(10, 25), surface_speed_m_s=(12, 20), feed_mm_s=(40, 90)),
        surface_speed_m_s=15,
        rpm=1432,
        force_n=15,
        feed_mm_s=60,
        passes=2,
        removal_um=band(0.5, 1, 2),
        ra_um=band(0.25, 0.36, 0.5),
        time_s=band(14, 18, 25),
        wear=Wear(
            parts_per_media=900,
            schedule=(
                WearPoint(diameter_mm=200, rpm=1432, index_mm=0, force_n=15),
                WearPoint(diameter_mm=170, rpm=1685, index_mm=15, force_n=13),
            ),
        ),
        go_on_when=("The lines run from end to end without a break and look the same as the sample.",),
        if_not=("Old lines show through: go back one step; the web cannot take them out.",),
        reasons=trail.refer_all(why),
    )


def _flap(trail: Trail) -> Step:
    values = [
        "stage",
        "station",
        "media",
        "grain",
        "grade",
        "grain_um",
        "wheel",
        "lubricant",
        "direction",
        "windows",
        "surface_speed_m_s",
        "rpm",
        "force_n",
        "feed_mm_s",
        "passes",
        "removal_um",
        "ra_um",
        "time_s",
    ]
    return Step(
        number=1,
        stage="clear",
        station="wheels",
        media="flap-wheel",
        grain="aluminium-oxide",
        grade="P120",
        grade_scale="P",
        grain_um=127,
        wheel=Wheel(diameter_mm=200, width_mm=50),
        lubricant="dry",
        direction="crosswise to the marks",
        windows=Windows(force_n=(15, 30), surface_speed_m_s=(18, 25), feed_mm_s=(30, 70)),
        surface_speed_m_s=20,
        rpm=1910,
        force_n=20,
        feed_mm_s=50,
        passes=4,
        removal_um=band(9, 14, 22),
        ra_um=band(0.7, 1.0, 1.5),
        time_s=band(9, 12, 18),
        go_on_when=("No turning mark is left.",),
        reasons=trail.refer_all(dict.fromkeys(values, (STEP_DOWN,)) | {"grain_um": (GRAIN_SIZE,)}),
    )


def sample_sheet() -> Sheet:
    """A gate latch that nobody makes: a curved face with three steps, a pad with two, a pocket with none."""
    trail = Trail()
    satin = Target(finish="satin-fine", texture="satin", lay="linear", ra_um=(0.3, 0.5))
    sweep = Feature(
        name="outer sweep",
        shape="convex",
        radius_mm=22,
        width_mm=30,
        area_cm2=40,
        start=Start(defects=("parting-line",), depth_mm=(0.25, 0.25), ra_um=6.3),
        target=satin,
        steps=(
            _belt(trail, 1, "P80", 201, band(1.4, 2.1, 3.0), band(180, 250, 340), band(31, 42, 60)),
            _belt(trail, 2, "P120", 127, band(0.8, 1.2, 1.7), band(8, 12, 19), band(15, 20, 28)),
            _web(trail, 3),
        ),
        time_s=band(66, 80, 105),
    )
    pad = Feature(
        name="foot pad",
        shape="flat",
        width_mm=45,
        area_cm2=18,
        start=Start(defects=("machining-marks",), depth_mm=(0.01, 0.02), ra_um=3.2),
        target=satin,
        steps=(_flap(trail), _web(trail, 2)),
        time_s=band(25, 30, 41),
    )
    pocket = Feature(
        name="inner pocket",
        shape="concave",
        radius_mm=4,
        area_cm2=3,
        start=Start(defects=("parting-line",), depth_mm=(0.1, 0.3)),
        target=satin,
        blocked=(
            Blocked(
                text="No wheel in this cell enters a 4 mm radius.",
                limit="radius of the smallest wheel",
                value=100.0,
                allowed=3.6,
                unit="mm",
                opens="A spindle that takes cartridge rolls of 6 mm diameter would open it.",
                reasons=trail.refer(TOP_SPEED),
            ),
            Blocked(
                text="The line must be cleared before a web may finish, and nothing here can clear it.",
                rule="web-for-satin",
                source="common-practice",
            ),
        ),
    )
    return in_reading_order(
        Sheet(
            program=Program(version="0.1.0"),
            job={
                "name": "gate-latch",
                "alloy": "s30400",
                "batch": 400,
                "part": {"mass_kg": 1.2, "wall_mm": None},
            },
            knowledge=Knowledge(fingerprint="sha256:0f1e2d3c4b5a69788796a5b4c3d2e1f0", rules=312),
            asked=(
                Asked(label="Part", text="gate latch, 1.2 kg, longest side 180 mm"),
                Asked(label="Alloy", text="304 stainless steel (S30400)"),
                Asked(label="Finish", text="fine satin, lines along the part, Ra 0.3 to 0.5 um"),
                Asked(label="Cell", text="robot floor stand, dry, batch of 400"),
            ),
            handling=Handling(value="part-in-hand", reasons=trail.refer(LIGHT_PART)),
            features=(sweep, pad, pocket),
            operations=(
                Operation(number=1, station="belts", media="belt", grade="P80", serves=("outer sweep/1",)),
            ),
            rivals=(
                PathRival(
                    feature="outer sweep",
                    grades=("P100", "P150", "fine"),
                    media=("belt", "belt", "nonwoven-flap-wheel"),
                    time_s=91,
                    cost=1.62,
                    lost_on="cost",
                    why="About a seventh slower: the finer start needs more passes for the line.",
                ),
            ),
            first_try=FirstTry(
                start_with="P120 belt on the line alone, three passes at 45 N.",
                if_too_weak="Go to P80 as in step 1.",
                if_too_strong="Halve the force before you change the grade.",
                parts_needed="Set three scrap parts aside: one to find the force, two to repeat it.",
            ),
            totals=Totals(
                time_s=band(91, 110, 146), cost=band(1.1, 1.4, 2.0), steps=5, currency="EUR", batch=400
            ),
            cautions=(
                Note(
                    text="Stainless dust holds chromium and nickel: extract at the wheel and wear a respirator.",
                    rule="stainless-dust",
                    source="hse-hsg170",
                    source_kind=source_words("government", "excerpt"),
                ),
                Note(
                    text="Keep media that has touched steel away from this part; the iron would rust.",
                    rule="iron-on-stainless",
                    source="common-practice",
                    source_kind=PRACTICE,
                    features=("outer sweep", "foot pad"),
                ),
            ),
            assumed=(
                Assumed(
                    field="features[outer sweep].start.depth",
                    value="0.25 mm",
                    why="The job does not say; a parting line is usually this high.",
                    measure="Run a dial gauge across the line.",
                ),
            ),
            measure_next=("The height of the parting line at three places.",),
            conflicts=(
                Conflict(
                    text="One rule asks for a plain face and one for a serrated face; the plain one is kept.",
                    feature="outer sweep",
                    step=1,
                    decision="wheel_face",
                    concern="look",
                    rules=("plain-face-for-look", "serrated-for-cut"),
                    kept="plain",
                ),
            ),
            outside=(
                Note(
                    text="Pickling takes the tint out of the corner more surely than any wheel.",
                    rule="tint-in-a-corner",
                    source="astm-a380",
                    source_kind=EXCERPT,
                ),
            ),
            after=(Note(text="Wash, dry and look for rust after a day in damp air.", rule="look-for-iron"),),
            hidden_advice=(
                Dropped(
                    text="An emulsion would keep the face cooler; this cell works dry.",
                    decision="lubricant",
                    option="emulsion",
                    concern="corrosion",
                    rule="cool-stainless",
                ),
            ),
            passed_over=(
                Dropped(
                    text="A file belt would reach the pocket, but no station takes one.",
                    feature="inner pocket",
                    decision="media",
                    option="file-belt",
                ),
            ),
            struck=(
                Dropped(
                    text="Open coat for soft metal does not hold for a tough one.",
                    feature="outer sweep",
                    step=1,
                    decision="coat",
                    rule="open-coat-soft",
                    by="closed-coat-tough",
                ),
            ),
            names=NAMES,
            ansi={"P80": "80", "P100": "100", "P120": "120", "P150": "150"},
            sources={
                "common-practice": Source(title="Common practice of the trade", words=PRACTICE),
                "gent-1958": Source(
                    title="Gent, On the relation between indentation hardness and modulus", words=PAPER
                ),
                "iso-6344-copies": Source(title="Grain size tables, as copied", words=EXCERPT),
            },
            reasons=trail.reasons(),
        )
    )
