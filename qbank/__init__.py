"""Problem families in, solved and checked instances out, as item banks in open formats.

Everything the `qbank` command does can be done from Python with the names below. They are
imported when first used, so that `import qbank` itself costs next to nothing.

>>> import qbank
>>> family = qbank.load_family(qbank.find_family("stepped-drum"))
>>> one = qbank.instance(family, seed=0, k=3)
>>> item = qbank.Renderer(family).item(one, 0)
>>> len(item.parts) > 0
True
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

if TYPE_CHECKING:
    from qbank.audit.check import check_bank
    from qbank.audit.correction.correcting import correct_bank
    from qbank.audit.verdict import Audit
    from qbank.converting import convert
    from qbank.errors import (
        CheckFailed,
        DrawError,
        ExpressionError,
        FamilyError,
        OutputError,
        QbankError,
    )
    from qbank.family.library import find_family, shipped_families
    from qbank.family.loader import load_family, read_family
    from qbank.family.model import Family
    from qbank.finding import Finding
    from qbank.formats.foreign.bank import open_bank
    from qbank.formats.readback import read_items
    from qbank.formats.registry import FORMATS
    from qbank.formats.validate import validate_package
    from qbank.formats.writing import write_bank
    from qbank.forms.blueprint import load_blueprint
    from qbank.forms.drawing import draw_forms
    from qbank.forms.writing import make_forms
    from qbank.generation import Generator, count_instances, generate, instance, work
    from qbank.hardness.features import difficulty
    from qbank.instances import Instances
    from qbank.item import Item
    from qbank.making import make
    from qbank.parametrised.item import parametrise
    from qbank.proof.proving import write_proof
    from qbank.rendering.renderer import Renderer
    from qbank.scoring.compiled import compile_item
    from qbank.scoring.grading import score
    from qbank.vetting.vet import Vetting, vet, vet_file

_HOME = {
    "Audit": "qbank.audit.verdict",
    "CheckFailed": "qbank.errors",
    "DrawError": "qbank.errors",
    "ExpressionError": "qbank.errors",
    "FORMATS": "qbank.formats.registry",
    "Family": "qbank.family.model",
    "FamilyError": "qbank.errors",
    "Finding": "qbank.finding",
    "Generator": "qbank.generation",
    "Instances": "qbank.instances",
    "Item": "qbank.item",
    "OutputError": "qbank.errors",
    "QbankError": "qbank.errors",
    "Renderer": "qbank.rendering.renderer",
    "Vetting": "qbank.vetting.vet",
    "check_bank": "qbank.audit.check",
    "compile_item": "qbank.scoring.compiled",
    "convert": "qbank.converting",
    "correct_bank": "qbank.audit.correction.correcting",
    "count_instances": "qbank.generation",
    "difficulty": "qbank.hardness.features",
    "draw_forms": "qbank.forms.drawing",
    "find_family": "qbank.family.library",
    "generate": "qbank.generation",
    "instance": "qbank.generation",
    "load_blueprint": "qbank.forms.blueprint",
    "load_family": "qbank.family.loader",
    "make": "qbank.making",
    "open_bank": "qbank.formats.foreign.bank",
    "parametrise": "qbank.parametrised.item",
    "make_forms": "qbank.forms.writing",
    "read_family": "qbank.family.loader",
    "read_items": "qbank.formats.readback",
    "score": "qbank.scoring.grading",
    "shipped_families": "qbank.family.library",
    "validate_package": "qbank.formats.validate",
    "vet": "qbank.vetting.vet",
    "vet_file": "qbank.vetting.vet",
    "work": "qbank.generation",
    "write_bank": "qbank.formats.writing",
    "write_proof": "qbank.proof.proving",
}

__all__ = [
    "FORMATS",
    "Audit",
    "CheckFailed",
    "DrawError",
    "ExpressionError",
    "Family",
    "FamilyError",
    "Finding",
    "Generator",
    "Instances",
    "Item",
    "OutputError",
    "QbankError",
    "Renderer",
    "Vetting",
    "check_bank",
    "compile_item",
    "convert",
    "correct_bank",
    "count_instances",
    "difficulty",
    "draw_forms",
    "find_family",
    "generate",
    "instance",
    "load_blueprint",
    "load_family",
    "make",
    "make_forms",
    "open_bank",
    "parametrise",
    "read_family",
    "read_items",
    "score",
    "shipped_families",
    "validate_package",
    "vet",
    "vet_file",
    "work",
    "write_bank",
    "write_proof",
]


def __getattr__(name: str) -> Any:
    if name in _HOME:
        return getattr(import_module(_HOME[name]), name)
    raise AttributeError(f"module 'qbank' has no attribute '{name}'")


def __dir__() -> list[str]:
    return sorted([*globals(), *__all__])
