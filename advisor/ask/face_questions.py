"""What is asked of every face or edge, as data."""

from __future__ import annotations

from advisor.ask.question import Presumed, Question, When, offers_of

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
        offers=offers_of(
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
            "Try radius gauges, drills or coins: their radius is half their width. For a large hollow lay a "
            "ruler in it, measure its length L between the two touching points and the gap H in the middle: "
            "the radius is L x L / (8 x H) + H / 2; for a bulge lay it against a cut-out of card. A pencil "
            "has 4 mm, a finger 8 mm, a broom handle 12 mm, a mug 40 mm."
        ),
        unknown=(Presumed(value="10 mm", say="10 mm is taken: a tight curve is treated gently."),),
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
        offers=offers_of(A="always in view", B="seen in use", C="hidden"),
        find_out="Hold the part as the customer will see it first.",
        unknown=(Presumed(value=None, say="It stays open how much the look counts."),),
    ),
    Question(
        key="face.more",
        title="Another face",
        asks="Is there another face or edge to be finished? Empty means no.",
        kind="more",
        offers=offers_of(yes="there is another", no="that is all"),
        find_out="Turn the part once round in your hand.",
        unknown=(Presumed(value="no", say="That is all."),),
    ),
)
