"""Small documents for the tests of the scorer, in the names of each version."""

from __future__ import annotations

from typing import Any

from qbank.formats import dialects
from qbank.formats.dialects import QTI_21
from qbank.scoring.compiled import compile_item
from qbank.scoring.result import Score

DIALECTS = tuple(dialects.DIALECTS.values())


def base(kind: str, text: str) -> str:
    return f'<baseValue baseType="{kind}">{text}</baseValue>'


def i(*numbers: int) -> str:
    return "".join(base("integer", str(n)) for n in numbers)


def f(*numbers: object) -> str:
    return "".join(base("float", str(n)) for n in numbers)


def s(*texts: str) -> str:
    return "".join(base("string", t) for t in texts)


def d(*names: str) -> str:
    return "".join(base("identifier", n) for n in names)


def multiple(inner: str) -> str:
    return f"<multiple>{inner}</multiple>"


def ordered(inner: str) -> str:
    return f"<ordered>{inner}</ordered>"


NULL = "<null/>"
TRUE, FALSE = base("boolean", "true"), base("boolean", "false")

KINDS = [
    (f"OUT_{cardinality}_{kind}", cardinality, kind)
    for cardinality in ("single", "multiple", "ordered")
    for kind in ("boolean", "integer", "float", "string", "identifier", "point", "pair", "duration")
]


def document(
    declarations: str = "", processing: str = "", *, template: str = "", body: str = "",
    adaptive: bool = False, after: str = "", dialect: Any = QTI_21,
) -> bytes:  # fmt: skip
    """An item with these parts; `processing` is what stands in responseProcessing."""
    template = f"<templateProcessing>{template}</templateProcessing>" if template else ""
    return dialect.markup(
        f'<assessmentItem xmlns="{dialect.namespace}" identifier="item" title="A pump" '
        f'adaptive="{str(adaptive).lower()}" timeDependent="false">'
        f"{declarations}{template}<itemBody>{body}</itemBody>"
        f"<responseProcessing>{processing}</responseProcessing>{after}</assessmentItem>"
    ).encode()


def declare(
    kind: str, name: str, base_type: str, *values: str, cardinality: str = "single", inner: str = ""
) -> str:
    """A declaration with a default (outcome, template) or a key (response)."""
    holder = "correctResponse" if kind == "response" else "defaultValue"
    held = "".join(f"<value>{v}</value>" for v in values)
    held = f"<{holder}>{held}</{holder}>" if values else ""
    type_of = f' baseType="{base_type}"' if base_type else ""
    return (
        f'<{kind}Declaration identifier="{name}" cardinality="{cardinality}"{type_of}>'
        f"{held}{inner}</{kind}Declaration>"
    )


def put(name: str, expression: str, kind: str = "Outcome") -> str:
    return f'<set{kind}Value identifier="{name}">{expression}</set{kind}Value>'


def evaluate(
    expression: str, cardinality: str = "single", kind: str = "float", *,
    declarations: str = "", responses: dict[str, Any] | None = None, dialect: Any = QTI_21,
) -> tuple[Any, Score]:  # fmt: skip
    """The value of an expression put into an outcome of a kind, and the whole score."""
    out = declare("outcome", "OUT", kind, cardinality=cardinality)
    data = document(out + declarations, put("OUT", expression), dialect=dialect)
    score = compile_item(data).score(responses or {})
    return score.outcomes["OUT"], score


SCORE = declare("outcome", "SCORE", "float", "0")
RIGHT = '<match><variable identifier="RESPONSE"/><correct identifier="RESPONSE"/></match>'


def when(test: str, then: str, *others: str, otherwise: str = "", kind: str = "response") -> str:
    more = "".join(others)
    last = f"<{kind}Else>{otherwise}</{kind}Else>" if otherwise else ""
    return f"<{kind}Condition><{kind}If>{test}{then}</{kind}If>{more}{last}</{kind}Condition>"


def outcomes(
    declarations: str, processing: str, responses: dict[str, Any] | None = None, **more: Any
) -> dict[str, Any]:
    return compile_item(document(declarations, processing, **more)).score(responses or {}).outcomes


def mapped(entries: str, attributes: str = "", **more: str) -> str:
    inner = f"<mapping {attributes}>{entries}</mapping>"
    return declare("response", "RESPONSE", more.pop("kind", "identifier"), inner=inner, **more)


def entry(key: str, value: float, more: str = "") -> str:
    return f'<mapEntry mapKey="{key}" mappedValue="{value}" {more}/>'


ABC = entry("A", 2) + entry("B", 1) + entry("C", -3)
