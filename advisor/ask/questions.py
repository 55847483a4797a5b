"""What is asked before and after the faces, in what words, as data."""

from __future__ import annotations

from advisor.ask.question import Presumed, Question, When, offers_of

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
        offers=offers_of(
            steel="carbon or tool steel: pulls a magnet, rusts, throws long bursting sparks",
            stainless="stainless steel: bright, no rust; few short sparks; many kinds hardly pull a magnet",
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
            "Hold a magnet to it. Weigh it in the hand. File a hidden spot and look at the colour. Touch a "
            "steel to a wheel and watch the sparks, but never a light metal: the dust of magnesium and "
            "titanium burns."
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
        offers=offers_of(
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
        offers=offers_of(
            none="it is known to hold no lead, chromate or cadmium",
            hazardous="it holds lead, chromate or cadmium, or may well do",
        ),
        find_out="Ask for the data sheet of the coating, or have a chip of it tested before dry abrasion.",
        unknown=(Presumed(value=None, say="It is taken to be hazardous, and the sheet says so."),),
        when=When(fact="old coating", among=("yes",)),
    ),
)

LAST: tuple[Question, ...] = (
    Question(
        key="after",
        title="What follows",
        asks="What follows the finishing?",
        kind="choice",
        offers=offers_of(
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
            "Ask the customer for a limit sample, signed, of the same metal; lay it beside what you have "
            "made before, under one lamp. Does it shine, or show lines? Do the lines run one way? A "
            "roughness gauge across the lines tells more than words."
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
        offers=offers_of(
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
        offers=offers_of(low="mostly flat or straight", high="curved all over, such as a handle"),
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
            "Walk past the machines: what turns, how fast, and does a robot or a person hold the part? A "
            "cell of your own can be written into the saved job."
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
