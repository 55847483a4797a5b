"""What is asked for a job, in what words, and how a shop finds out what nobody knows: all of it as data."""

from __future__ import annotations

from typing import Literal

from advisor.knowledge.reference import Frozen

Kind = Literal["line", "alloy", "choice", "row", "rows", "quantity", "band", "area", "finish", "count", "more"]


class When(Frozen):
    """A question is asked, or a value presumed, only where a fact is one of these values."""

    fact: str
    among: tuple[str, ...]


class Presumed(Frozen):
    """What stands in the job where nobody knows, and the sentence that says so."""

    value: str | None  # None: the field is left out, and the advisor assumes what it always does
    say: str
    when: When | None = None


class Offer(Frozen):
    """One answer that can be chosen, with what it means."""

    key: str
    says: str


class Question(Frozen):
    """One question. Its key is the field of the job file that it fills; `face.` is the face in hand."""

    key: str
    title: str
    asks: str
    kind: Kind
    table: str | None = None
    offers: tuple[Offer, ...] = ()
    like: str = ""
    find_out: str = ""  # empty: the defect's own row tells it
    unknown: tuple[Presumed, ...]
    when: When | None = None


def _offers(**says: str) -> tuple[Offer, ...]:
    return tuple(Offer(key=key.replace("_", "-").removesuffix("-"), says=text) for key, text in says.items())


#: The alloy that stands in for a metal of which only the kind is known.
STAND_INS: dict[str, str] = {
    "steel": "g10180",
    "stainless": "s30400",
    "iron": "f12101",
    "aluminium": "a96061",
    "aluminium-casting": "a13800",
    "copper": "unidentified-copper-alloy",
    "zinc": "z33525",
    "titanium": "r56400",
    "nickel-cobalt": "n06625",
    "magnesium": "m11916",
}

FIRST: tuple[Question, ...] = (
    Question(
        key="name",
        title="Job",
        asks="What do you call this job?",
        kind="line",
        like="a part number or a word, such as rail-bracket",
        find_out="Any word will do; it only heads the sheet.",
        unknown=(Presumed(value="my-part", say="It is called my-part."),),
    ),
    Question(
        key="alloy",
        title="Metal",
        asks="What metal is the part made of?",
        kind="alloy",
        like="a UNS or EN number or a common name, such as 316L, 1.4404, 6061 or brass",
        find_out="Look on the drawing, the order, the certificate of the melt, or for a stamp on the bar.",
        unknown=(Presumed(value=None, say="Then the next question asks for the kind of metal."),),
    ),
    Question(
        key="metal",
        title="Kind of metal",
        asks="Which kind of metal comes closest?",
        kind="choice",
        offers=_offers(
            steel="carbon or tool steel: pulls a magnet, rusts, throws long bursting sparks",
            stainless="stainless steel: bright, does not rust; few short sparks; many kinds hardly pull a magnet",
            iron="cast iron: pulls a magnet; grey, crumbling chips; short dull red sparks",
            aluminium="aluminium, rolled or extruded: light, white, soft, no sparks, no magnet",
            aluminium_casting="aluminium casting: the same, with a cast skin and often a parting line",
            copper="brass, bronze or copper: yellow to red under the skin, heavy, no sparks",
            zinc="zinc die casting: grey-blue, heavy for its size, soft, no sparks",
            titanium="titanium: grey, half the weight of steel, dazzling white sparks",
            nickel_cobalt="nickel or cobalt alloy: heavy, hardly any sparks, very tough to cut",
            magnesium="magnesium: lighter than aluminium; its chips burn",
        ),
        find_out=(
            "Hold a magnet to it. Weigh it in the hand. File a hidden spot and look at the colour. Touch a steel "
            "to a wheel and watch the sparks, but never a light metal: the dust of magnesium and titanium burns."
        ),
        unknown=(
            Presumed(
                value="magnesium",
                say=(
                    "Nobody knows the metal, so it is taken as magnesium, whose dust is the most dangerous. "
                    "Have the metal tested before any work; the sheet is only an exercise until then."
                ),
            ),
        ),
        when=When(fact="alloy", among=("not known",)),
    ),
    Question(
        key="start.defect",
        title="What must go",
        asks="What must go from the surface?",
        kind="row",
        table="defects",
        find_out="Tilt the face under a lamp and draw a fingernail across what you see.",
        unknown=(
            Presumed(
                value="casting-skin",
                say="The metal is a casting alloy, so a casting skin is taken.",
                when=When(fact="alloy.cast", among=("yes",)),
            ),
            Presumed(value="mill-surface", say="A sound surface as it was delivered is taken."),
        ),
    ),
    Question(
        key="start.also",
        title="And besides",
        asks="Is there anything else on the same face? Empty means no.",
        kind="rows",
        table="defects",
        like="numbers or names from the list above, with commas between them",
        find_out="Look beside a weld for colours, beside a cut for a burr, on a casting for flash.",
        unknown=(Presumed(value=None, say="Nothing else is taken to be there."),),
    ),
    Question(
        key="start.depth",
        title="Depth or height",
        asks="How deep is it, or how high does it stand?",
        kind="band",
        like="0.25 mm or 0.010 in; usual and worst as 0.1 mm to 0.3 mm",
        unknown=(Presumed(value=None, say="Then a fingernail helps: the next question."),),
    ),
    Question(
        key="start.felt",
        title="Fingernail",
        asks="Draw a fingernail across it. What do you feel?",
        kind="choice",
        offers=_offers(
            no="the nail slides over it", catches="the nail catches", steps="the nail climbs a step"
        ),
        find_out="Draw the nail slowly and square to the line, with the part cold and wiped clean.",
        unknown=(Presumed(value=None, say="The usual depth of this defect is taken."),),
        when=When(fact="start.depth", among=("not known",)),
    ),
    Question(
        key="start.coating",
        title="Old coating",
        asks="What does the old coating hold?",
        kind="choice",
        offers=_offers(
            none="it is known to hold no lead, chromate or cadmium",
            hazardous="it holds lead, chromate or cadmium, or may well do",
        ),
        find_out="Ask for the data sheet of the coating, or have a chip of it tested before any dry abrasion.",
        unknown=(Presumed(value=None, say="It is taken to be hazardous, and the sheet says so."),),
        when=When(fact="old coating", among=("yes",)),
    ),
)

FACE: tuple[Question, ...] = (
    Question(
        key="face.name",
        title="Face",
        asks="What do you call this face or edge?",
        kind="line",
        like="any word, such as front",
        find_out="Any word will do that tells it from the others.",
        unknown=(Presumed(value="face {number}", say="It is called face {number}."),),
    ),
    Question(
        key="face.shape",
        title="Shape",
        asks="What shape is it?",
        kind="choice",
        offers=_offers(
            flat="a ruler lies on it without a gap",
            convex="it bulges: a ruler rocks on it",
            concave="it is hollow: a ruler shows a gap in the middle",
            edge="an edge, not a face",
        ),
        find_out="Lay a steel ruler across it, in two directions.",
        unknown=(Presumed(value="flat", say="It is taken as flat."),),
    ),
    Question(
        key="face.radius",
        title="Radius",
        asks="What is its tightest radius?",
        kind="quantity",
        like="18 mm or 3/4 in",
        find_out=(
            "Try radius gauges, drills or coins: their radius is half their width. For a large curve lay a ruler on "
            "it, measure its length L between the two touching points and the gap H in the middle: the radius is "
            "L x L / (8 x H) + H / 2. A pencil has 4 mm, a finger 8 mm, a broom handle 12 mm, a mug 40 mm."
        ),
        unknown=(Presumed(value="10 mm", say="10 mm is taken, like a finger: a tight curve is treated gently."),),
        when=When(fact="face.shape", among=("convex", "concave")),
    ),
    Question(
        key="face.edge_radius",
        title="Edge radius",
        asks="To what radius is the edge to be broken?",
        kind="quantity",
        like="0.3 mm or 0.012 in",
        find_out="Look on the drawing; an edge that must not cut a hand has some 0.2 to 0.5 mm.",
        unknown=(Presumed(value=None, say="No radius is asked for."),),
        when=When(fact="face.shape", among=("edge",)),
    ),
    Question(
        key="face.width",
        title="Narrowest width",
        asks="How wide is it at its narrowest?",
        kind="quantity",
        like="30 mm or 1 1/4 in",
        find_out="Lay a tape measure across it where it is narrowest; of an edge, the thickness.",
        unknown=(Presumed(value=None, say="The whole width of the media is taken to fit."),),
    ),
    Question(
        key="face.area",
        title="Area",
        asks="How large is it?",
        kind="area",
        like="40 cm2 or 6 in2, or length and width as 200 mm x 20 mm",
        find_out="Measure length and width with a tape measure; that is near enough.",
        unknown=(Presumed(value=None, say="A face of 100 cm2 is taken; times and costs follow from it."),),
    ),
    Question(
        key="face.access",
        title="Free space",
        asks="Is there a wall or a pocket beside it? How much free space is there?",
        kind="quantity",
        like="45 mm; empty where nothing is in the way",
        find_out="Measure from the face to whatever the wheel or the tool would touch first.",
        unknown=(Presumed(value=None, say="Nothing is taken to be in the way."),),
    ),
    Question(
        key="face.visible",
        title="Seen",
        asks="Where is it seen?",
        kind="choice",
        offers=_offers(A="always in view", B="seen in use", C="hidden"),
        find_out="Hold the part as the customer will see it first.",
        unknown=(Presumed(value=None, say="It stays open how much the look counts."),),
    ),
    Question(
        key="face.more",
        title="Another face",
        asks="Is there another face or edge to be finished? Empty means no.",
        kind="more",
        offers=_offers(yes="there is another", no="that is all"),
        find_out="Turn the part once round in your hand.",
        unknown=(Presumed(value="no", say="That is all."),),
    ),
)

LAST: tuple[Question, ...] = (
    Question(
        key="after",
        title="What follows",
        asks="What follows the finishing?",
        kind="choice",
        offers=_offers(
            none="nothing: the metal stays as it is",
            powder_coat="powder coating",
            paint="liquid paint",
            plate="plating",
            anodize="anodizing",
            lacquer="clear lacquer",
            passivate="passivating",
            electropolish="electropolishing",
            patina="a patina",
        ),
        find_out="Look on the order for a coating, or ask where the part goes next.",
        unknown=(Presumed(value=None, say="Nothing is taken to follow."),),
    ),
    Question(
        key="finish",
        title="Finish",
        asks="How is the surface to look in the end?",
        kind="finish",
        table="finishes",
        like='or a designation, such as "EN 10088-2 2K", "BHMA 630" or "A480 No. 4"',
        find_out=(
            "Ask the customer for a limit sample, signed, of the same metal; lay it beside what you have made "
            "before, under one lamp. Does it shine, or show lines? Do the lines run one way? A roughness gauge "
            "across the lines tells more than words."
        ),
        unknown=(
            Presumed(
                value="keyed-powder",
                say="Powder coating follows, so a key for powder is taken.",
                when=When(fact="after", among=("powder-coat",)),
            ),
            Presumed(
                value="keyed-paint",
                say="Paint follows, so a key for paint is taken.",
                when=When(fact="after", among=("paint",)),
            ),
            Presumed(
                value="plate-ready",
                say="Plating follows, so a face smooth enough for bright plating is taken.",
                when=When(fact="after", among=("plate",)),
            ),
            Presumed(value="satin-medium", say="A medium satin is taken, which can still be made finer."),
        ),
    ),
    Question(
        key="environment",
        title="Surroundings",
        asks="Where will the part live?",
        kind="choice",
        offers=_offers(
            indoor="indoors, dry",
            outdoor="outdoors",
            coastal="by the sea, or with road salt",
            food="where food or drink is handled",
            implant="in the body",
        ),
        find_out="Ask who uses it, and what it is washed with.",
        unknown=(Presumed(value=None, say="It stays open; the sheet names what would depend on it."),),
    ),
    Question(
        key="part.mass",
        title="Mass",
        asks="How heavy is the part?",
        kind="quantity",
        like="0.9 kg or 2 lb",
        find_out="Put it on a scale.",
        unknown=(Presumed(value=None, say="It stays open how heavy the part is."),),
    ),
    Question(
        key="part.size",
        title="Longest side",
        asks="How long is its longest side?",
        kind="quantity",
        like="180 mm or 7 in",
        find_out="Use a tape measure.",
        unknown=(Presumed(value=None, say="It stays open how large the part is."),),
    ),
    Question(
        key="part.wall",
        title="Thinnest wall",
        asks="How thin is its thinnest wall near the faces?",
        kind="quantity",
        like="4 mm or 0.16 in",
        find_out="Use a caliper at an edge or a hole; a thin wall heats through and gives way.",
        unknown=(Presumed(value=None, say="The wall is taken to be thick enough; watch the heat."),),
    ),
    Question(
        key="part.contour",
        title="Overall curve",
        asks="How strongly is the part curved overall?",
        kind="choice",
        offers=_offers(low="mostly flat or straight", high="curved all over, such as a handle"),
        find_out="Roll it over a table: does it lie still, or rock?",
        unknown=(Presumed(value=None, say="Little curve is taken."),),
    ),
    Question(
        key="cell",
        title="Equipment",
        asks="What equipment comes closest to yours?",
        kind="row",
        table="cells",
        find_out=(
            "Walk past the machines: what turns, how fast, and does a robot or a person hold the part? A cell of "
            "your own can be written into the saved job."
        ),
        unknown=(Presumed(value="hand-tools", say="Hand-held tools are taken, which most shops have."),),
    ),
    Question(
        key="batch",
        title="Parts",
        asks="How many parts are in the batch?",
        kind="count",
        like="a whole number, such as 400",
        find_out="Look on the order, or count the boxes.",
        unknown=(Presumed(value=None, say="One part is taken; every changeover then falls on it."),),
    ),
)
