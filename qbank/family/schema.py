"""The format of family files as data: sections, their keys, and what each key holds.

This is the only description of the format. The loader walks it (`qbank/family/keys.py`) to
refuse unknown, missing and contradicting keys; the README's reference is printed from it.
"""

from __future__ import annotations

from qbank.expressions.functions import FUNCTIONS, OF_DISTRIBUTIONS
from qbank.family.figure_schema import FIGURE, SCALE, figure_markdown
from qbank.family.section import Form, Key, Section

TEXT, LIST, TEXTS, MAPPING = Form.TEXT, Form.LIST, Form.TEXTS, Form.MAPPING

_ONLY = Key("only", TEXTS, "the case it applies to, or a list of cases", default="all cases")
_DECIMALS = Key("decimals", TEXT, "decimals shown, 0 to 15; instead of `figures`")
_NOTATION = Key(
    "notation", TEXT, "`auto`, `plain` or `scientific` (a power of ten)", default="auto"
)
_FIGURES = "significant figures shown, 1 to 15"
_SYMBOL = Key("symbol", TEXT, "what stands for it in formulas", default="its name in the file")
_PROMPT = Key("prompt", TEXT, "the sentence that asks", default="a sentence made from the name")

FAMILY = Section(
    "The file",
    "One family a file. The sections may stand in any order; the order below is that in which "
    "one explains a problem.",
    (
        Key(
            "family", TEXT, "the name: small letters, digits, hyphens; the file is NAME.yaml", True
        ),
        Key("title", TEXT, "what people call it", True),
        Key("subject", TEXT, "topic path, such as `mechanics/rotation`", True),
        Key("level", TEXT, "whom it is for"),
        Key("version", TEXT, "three numbers, such as `1.0.0`", True),
        Key("licence", TEXT, "the licence of the text"),
        Key("language", TEXT, "language code of the text (BCP 47)", default="en"),
        Key("authors", TEXTS, "who wrote it", most=40),
        Key("objectives", TEXTS, "what is learned by it", most=40),
        Key("caution", TEXT, "a warning shown with the item, where the real task can hurt someone"),
        Key(
            "shares",
            TEXT,
            "`equal`: each case gets the same share of the instances; `natural`: as they fall",
            default="natural",
        ),
        Key(
            "coinciding",
            TEXT,
            "what becomes of an instance in which a slip comes to the key or to another slip: "
            "`drop` leaves that wrong answer out; `reject` does not draw the instance, unless the "
            "two meet in more than half of the draws",
            default="drop",
        ),
        Key(
            "working",
            MAPPING,
            "how exactly a student works; say so in the stem",
        ),
        Key("given", MAPPING, "the given quantities", True, most=40),
        Key("let", MAPPING, "intermediate quantities", most=40),
        Key("cases", MAPPING, "which way it goes, decided from `given` and `let` alone", most=12),
        Key("find", MAPPING, "the unknowns", True, most=40),
        Key(
            "laws",
            MAPPING,
            "law name -> equation, or case -> law name -> equation; in every case as many laws "
            "as unknowns",
            True,
            most=80,
        ),
        Key("rules", LIST, "what a draw must meet to be used", most=60),
        Key("confirm", LIST, "common-sense checks on the solution, printed with it", most=60),
        Key("slips", MAPPING, "typical mistakes, as edits to the model", most=40),
        Key("ask", LIST, "the parts of the question", True, most=40),
        Key("text", MAPPING, "stem, worked solution and hints", True),
        Key("settings", LIST, "surface stories for the same physics", most=40),
        Key("figure", MAPPING, "a drawing from the instance's quantities"),
        Key(
            "called",
            MAPPING,
            "law or case -> what the worked solution calls it, where its name will not do",
            most=80,
        ),
        Key("languages", MAPPING, "language code -> the prose in that language", most=20),
    ),
)

GIVEN = Section(
    "given",
    "Name -> a given quantity. Names are letters, digits and underscores (`m_a`, `theta`). A "
    "unit is written once, at the end. Exactly the numbers shown are computed with.",
    (
        Key("name", TEXT, "what it is, in words", True),
        _SYMBOL,
        Key(
            "draw",
            TEXT,
            "`low .. high by step unit`; the step tells how many decimals are shown",
        ),
        Key("list", TEXT, "the values it may take, separated by commas, then the unit"),
        Key("fixed", TEXT, "one value with its unit"),
        Key(
            "accept",
            TEXT,
            "other values honest work may use for it, such as `9.8, 9.80665`; answers worked out "
            "with them lie within the tolerance",
            needs="fixed",
        ),
        Key(
            "sample",
            TEXT,
            "a data list: `normal(mean, sd)` or `uniform(low, high)` of other givens",
        ),
        Key(
            "size",
            TEXT,
            "how many values: `10`, `8 .. 12` or `like y`",
            needs="sample",
        ),
        Key("decimals", TEXT, "decimals of the values, in `unit`", needs="sample"),
        Key("unit", TEXT, "the unit of the values", default="a pure number", needs="sample"),
        Key("hidden", TEXT, "`yes`: drawn but not shown in the stem", default="no"),
    ),
    one_of=("draw", "list", "fixed", "sample"),
    example="""\
given:
  m_a: {name: mass of the left sandbag, draw: 2.0 .. 9.0 by 0.5 kg}
  R_1: {name: first resistance, list: 4.7, 10, 22 kΩ}
  K_a: {name: acid constant, list: 1.8e-5, 6.3e-5 mol/L}
  g:   {name: free-fall acceleration, fixed: 9.81 m/s^2}
  mu:  {name: true mean, draw: 20.0 .. 40.0 by 0.1 mm, hidden: yes}
  x:   {name: measured lengths, sample: "normal(mu, 2 mm)", size: 8 .. 12, decimals: 1, unit: mm}
  T_1: {name: room temperature, draw: 15 .. 30 by 1 °C}""",
)

LET = Section(
    "let",
    "Name -> an intermediate quantity over givens and other lets, in any order.",
    (
        Key("name", TEXT, "what it is, in words"),
        _SYMBOL,
        Key("equals", TEXT, "an expression; list functions such as `mean(x)` belong here", True),
        Key("unit", TEXT, "the unit it is shown in", default="a pure number"),
        Key("figures", TEXT, _FIGURES, default="4"),
        _DECIMALS,
        _NOTATION,
    ),
    example="""\
let:
  I: {name: moment of inertia of the drum, equals: M_r*r^2/2 + M_R*R^2/2, unit: kg m^2}""",
)

WORKING = Section(
    "working",
    "How exactly an honest student works. It tells how far rounding on the way can move an answer, "
    "which the tolerance covers. Without it, quantities in `let` are rounded as shown, answers "
    "that are needed later as asked for, and anything else to one figure more than the answers.",
    (
        Key(
            "figures",
            TEXT,
            "significant figures kept in every number on the way, answers that are needed later "
            "among them; 2 to 15",
            True,
        ),
    ),
    example="""\
working: {figures: 5}""",
)

CASE = Section(
    "cases",
    "Case -> when it holds. Exactly one case must hold for every draw. All cases set the same "
    "constants and say the same words. Leave the section out if there is one way only.",
    (
        Key("when", TEXT, "a condition on givens and lets, or `otherwise` in the last case", True),
        Key("set", MAPPING, "constant -> plain number, for use in laws", most=20),
        Key("say", MAPPING, "word -> what `{say WORD}` prints in this case", most=20),
    ),
    example="""\
cases:
  clockwise:     {when: m_b*R > m_a*r, set: {s: 1},  say: {turns: clockwise}}
  anticlockwise: {when: m_b*R < m_a*r, set: {s: -1}, say: {turns: anticlockwise}}""",
)

FIND = Section(
    "find",
    "Name -> an unknown.",
    (
        Key("name", TEXT, "what it is, in words", True),
        _SYMBOL,
        Key("unit", TEXT, "the unit of the answer", default="a pure number"),
        Key("figures", TEXT, _FIGURES),
        _DECIMALS,
        _NOTATION,
        Key(
            "tolerance",
            TEXT,
            "`2 %` of the key, or an amount such as `0.05 N`",
            default="1 % of the key or 1.5 units of its last place, whichever is wider; wider "
            "where honest rounding needs it, narrower where a slip lies near",
        ),
        Key("expect", TEXT, "a condition the solution must meet, such as `alpha > 0`"),
        Key("choose", TEXT, "a condition that picks the root, such as `0 < h < c`"),
        Key(
            "between",
            TEXT,
            "`low .. high` over givens and lets: where to look for the root of a law that "
            "cannot be solved for the unknown",
        ),
    ),
    one_of=("figures", "decimals"),
    example="""\
find:
  T_a:   {name: tension in the left cord, unit: N, figures: 3}
  alpha: {name: angular acceleration, unit: rad/s^2, figures: 3, expect: alpha > 0}""",
)

RULE = Section(
    "rules",
    "A list of what a draw must meet.",
    (
        Key("need", TEXT, "a condition on givens, lets and unknowns", True),
        Key("because", TEXT, "the reason, for who reads how many draws were rejected", True),
        _ONLY,
    ),
    example="""\
rules:
  - {need: R >= 1.4*r, because: the two discs must look different in the figure}""",
)

CONFIRM = Section(
    "confirm",
    "A list of statements that hold for every solution; one that fails is an error in the family.",
    (
        Key("that", TEXT, "a condition on givens, lets and unknowns", True),
        Key("because", TEXT, "the reason, printed in the worked solution", True),
        _ONLY,
    ),
    example="""\
confirm:
  - {that: T_a > m_a*g, only: clockwise, because: the left bag speeds up on its way up}""",
)

SLIP = Section(
    "slips",
    "Slip -> an edit to the model, which is then solved again. At least one edit, or several "
    "together; never the formula of an answer.",
    (
        Key("says", TEXT, "the feedback for who made the slip", True),
        Key("replace", MAPPING, "law -> another equation, or let -> another expression", most=40),
        Key("change", MAPPING, "given -> what is taken for it, over the true values", most=40),
        Key("swap", LIST, "pairs `[a, b]` of givens or lets taken for each other", most=20),
        Key("unconverted", TEXTS, "givens whose number is used as if it were in SI", most=40),
        Key("cases", MAPPING, "case -> the case it is taken for", most=12),
        Key("drop", TEXTS, "laws left out", most=40),
        _ONLY,
    ),
    example="""\
slips:
  full-weight: {replace: {left: T_a = m_a*g}, says: The cord carries it only while at rest.}
  diameters:   {change: {r: 2*r, R: 2*R}, says: The data are radii.}
  mixed-up:    {swap: [[r, R]], says: Each bag hangs from its own disc.}
  centimetres: {unconverted: [r, R], says: Convert centimetres to metres first.}""",
)
EDITS = ("replace", "change", "swap", "unconverted", "cases", "drop")

ASK = Section(
    "ask",
    "A list of parts.",
    (
        Key("enter", TEXTS, "type the value of an unknown; a list makes a part of each", most=40),
        Key("choose", TEXT, "pick the value of an unknown; distractors come from slips"),
        Key("which", TEXT, "pick the word that holds among those the cases say"),
        Key("law", TEXT, "pick the right equation among those slips write instead"),
        Key("statements", LIST, "mark every statement that holds", most=12),
        Key("order", LIST, "put the steps in order: 2 to 10 texts, in the right order", most=10),
        Key("match", MAPPING, "pair texts: text -> the text it belongs to, 2 to 10 pairs", most=10),
        Key(
            "spare",
            TEXTS,
            "slips that `replace` a law: the equations they write instead are offered too",
            needs="match",
            most=10,
        ),
        Key(
            "partial",
            TEXT,
            "`yes`, with `order` or `match`: each text in its place, each right pair earns its "
            "share of the points",
            default="no: all or nothing",
        ),
        Key("options", TEXT, "how many options, 2 to 12, the key among them", needs="choose"),
        Key("points", TEXT, "points, for each quantity entered", default="1"),
        _PROMPT,
    ),
    one_of=("enter", "choose", "which", "law", "statements", "order", "match"),
    example="""\
ask:
  - {which: turns, points: 1, prompt: "Which way does the drum turn?"}
  - {enter: [T_a, T_b], points: 2}
  - {choose: alpha, options: 4, points: 1}
  - order: [Compare the torques., Write an equation for each body., Solve for the tensions.]
  - match: {the left bag: "{law left}", the drum: "{law drum}"}
    spare: full-weight
    partial: yes""",
)

STATEMENT = Section(
    "statements",
    "Within `ask`.",
    (
        Key("text", TEXT, "the statement", True),
        Key("when", TEXT, "the condition under which it holds", True),
        Key("feedback", TEXT, "what is said about it afterwards"),
    ),
    example="""\
  - statements:
      - {text: "The left cord is the tighter one.", when: T_a > T_b}""",
)

PROSE = Section(
    "text",
    "All prose. Paragraphs are separated by a blank line.",
    (
        Key("stem", TEXT, "the question; every given that is not hidden must be shown", True),
        Key("solution", TEXTS, "steps of the worked solution", most=60),
        Key("hints", TEXTS, "hints, one after the other", most=20),
        Key("figure", TEXT, "what the figure shows, for who cannot see it; gives nothing away"),
    ),
    example="""\
text:
  stem: |
    A cord holds {m_a} on a disc of radius {r}.
  solution:
    - "Hold the drum still: the torques are {= m_b*g*R in N m} and {= m_a*g*r in N m}."
    - {say: "Left bag: {law left with numbers}", only: clockwise}
  hints: ["Compare the torques first."]""",
)

STEP = Section(
    "solution steps",
    "A step of the solution is text, or text for some cases:",
    (Key("say", TEXT, "the text", True), _ONLY),
)

SETTING = Section(
    "settings",
    "A list of surface stories; all say the same words.",
    (
        Key("name", TEXT, "what the setting is called", True),
        Key("say", MAPPING, "word -> what `{say WORD}` prints in this setting", True, most=40),
    ),
    example="""\
settings:
  - {name: quarry, say: {load: block of granite, place: a quarry}}
  - {name: harbour, say: {load: crate of fish, place: the quay}}""",
)

LANGUAGE = Section(
    "languages",
    "Language code -> all prose of the family in that language; numbers are written as that "
    "language writes them. What is computed stays: only prose stands here, by the names of the "
    "sections above. A text that is missing is an error.",
    (
        Key("title", TEXT, "what people call it", True),
        Key("level", TEXT, "whom it is for"),
        Key("caution", TEXT, "the warning, where the family has one"),
        Key("objectives", TEXTS, "what is learned by it", most=40),
        Key("names", MAPPING, "given, let or unknown -> its name in words", most=120),
        Key("called", MAPPING, "law or case -> what the solution calls it", most=80),
        Key("cases", MAPPING, "case -> its words", most=12),
        Key("confirm", LIST, "the reasons, one a statement, in order", most=60),
        Key("slips", MAPPING, "slip -> the feedback for it", most=40),
        Key("ask", LIST, "the parts in order; `{}` where nothing is worded", most=40),
        Key("text", MAPPING, "stem, worked solution, hints and what the figure shows", True),
        Key("settings", MAPPING, "setting -> its words", most=40),
        Key("figure", MAPPING, "label as it stands in `figure` -> label", most=60),
    ),
    example="""\
languages:
  de:
    title: Zwei Lasten an einer Stufentrommel
    names: {m_a: Masse der linken Last, alpha: Winkelbeschleunigung}
    cases: {clockwise: {turns: im Uhrzeigersinn}}
    slips: {diameters: Gegeben sind Radien.}
    ask:
      - {prompt: "In welche Richtung dreht sich die Trommel?"}
      - {}
    text:
      stem: |
        Eine Schnur hält {m_a} an einer Scheibe mit dem Radius {r}.""",
)

ASK_IN_LANGUAGE = Section(
    "parts in a language",
    "Within `ask` of a language.",
    (
        Key("prompt", TEXT, "the sentence that asks"),
        Key("statements", LIST, "the statements, in order", most=12),
        Key("order", LIST, "the steps, in the same order", most=10),
        Key("match", MAPPING, "the pairs, in the same order", most=10),
    ),
)

STATEMENT_IN_LANGUAGE = Section(
    "statements in a language",
    "Within a part of a language.",
    (
        Key("text", TEXT, "the statement", True),
        Key("feedback", TEXT, "what is said about it afterwards"),
    ),
)

SECTIONS = (
    FAMILY, WORKING, GIVEN, LET, CASE, FIND, RULE, CONFIRM, SLIP,
    ASK, STATEMENT, PROSE, STEP, SETTING, LANGUAGE, ASK_IN_LANGUAGE, STATEMENT_IN_LANGUAGE, FIGURE,
    SCALE,
)  # fmt: skip

FIELDS = (
    ("{m_a}", "value with unit"),
    ("{m_a.symbol}", "the symbol alone"),
    ("{m_a.name}", "the name in words"),
    ("{m_a.number}", "the number without unit"),
    ("{m_a.unit}", "the unit without number"),
    ("{m_a.equation}", "symbol = value with unit"),
    ("{law left}", "a law in symbols"),
    ("{law left with numbers}", "a law with its numbers put in"),
    ("{let I}", "the formula of an intermediate quantity; also `with numbers`"),
    ("{= m_b*g*R in N m}", "any expression, to 3 figures; the unit may be left out"),
    ("{= m_b*g*R in N m to 4 figures}", "the same to other figures, or `to 2 decimals`"),
    ("{say turns}", "a word of the case or of the setting"),
    ("{table x y}", "data lists as a table; alone in its paragraph"),
    ("{figure}", "the figure; alone in its paragraph"),
    ("{{ and }}", "braces"),
)


EXPRESSIONS = """\
Expressions are written out in full: `m_a*g`, never `m_a g`. `+ - * / ^` bind as in mathematics, `^`
tightest and from right to left, so that `-x^2` is `-(x^2)`. Conditions compare with
`< <= > >= == !=`, also in chains (`0 < h < c`), and are joined by `and`, `or`, `not`. `pi` is the
only constant. A number may carry a unit (`0.3 rad/s^2`, `(5 cm)^2`); `20 °C` is an absolute
temperature. Both sides of a law, of a comparison and of a sum must have the same dimension.
"""

YAML = """\
The file is YAML, of which plain data is read: no tags, anchors, aliases or second document, and no
key twice. Every value is taken as the text that stands there (`no`, `010` and `1e3` are not
converted by YAML). Within braces a comma does not end plain text unless `key:` follows it. Put text
in quotes that begins with `{`, `[`, `%`, `*`, `&` or `!`, or that holds a colon and a space.
"""


def reference_markdown() -> str:
    """The reference of the format in Markdown: a table a section, the expressions, the fields."""
    parts = [part for section in SECTIONS for part in section_markdown(section)]
    parts += figure_markdown()
    parts += ["#### Expressions\n", EXPRESSIONS, "| Functions | |\n| --- | --- |"]
    parts += [f"| {names} | {doc} |" for names, doc in _functions()]
    parts += ["", "#### YAML\n", YAML]
    parts += [
        "#### Fields in text\n",
        "Fields stand in braces. A value of an unknown, and a word of a case, may not stand in "
        "the stem or in a prompt: they would give the answer away.\n",
        "| Field | Prints |\n| --- | --- |",
        *(f"| `{_cell(name)}` | {doc} |" for name, doc in FIELDS),
    ]
    return "\n".join(parts) + "\n"


def _functions() -> list[tuple[str, str]]:
    """The functions by what they take, as rows of a table."""
    rows: dict[str, list[str]] = {
        "of numbers, and of each value of a data list": [],
        "of single numbers: (p), (p, df), (p, df)": [],
        "of single numbers, P(X <= x): (z), (t, df), (x, df)": [],
        "of a data list; `sd` and `variance` divide by n - 1": [],
    }
    numbers, quantiles, shares, lists = rows.values()
    for name, function in FUNCTIONS.items():
        if name in OF_DISTRIBUTIONS:
            row = shares if name.endswith("_cdf") else quantiles
        else:
            row = lists if function.kind == "list" else numbers
        row.append(f"`{name}`")
    return [(", ".join(names), doc) for doc, names in rows.items()]


def section_markdown(section: Section) -> list[str]:
    """One section in Markdown: what it is, a table of its keys, its example."""
    parts = [f"#### {section.title}\n", f"{section.doc}\n"]
    if section.one_of:
        names = ", ".join(f"`{name}`" for name in section.one_of)
        parts.append(f"Exactly one of {names}.\n")
    parts.append("| Key | | Holds |\n| --- | --- | --- |")
    for key in section.keys:
        notes = ["required"] if key.required else []
        if key.needs:
            notes.append(f"with `{key.needs}`")
        if key.most:
            notes.append(f"at most {key.most}")
        tail = f" (default: {key.default})" if key.default else ""
        parts.append(f"| `{key.name}` | {', '.join(notes)} | {_cell(key.doc)}{tail} |")
    parts.append("")
    if section.example:
        parts += ["```yaml", section.example, "```", ""]
    return parts


def _cell(text: str) -> str:
    return text.replace("|", "\\|")
