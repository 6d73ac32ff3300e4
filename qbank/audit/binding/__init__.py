"""Binding files: how the quantities of a family stand in the wording of a bank."""

from qbank.audit.binding.bind import Bound, bind
from qbank.audit.binding.file import Binding, load_bindings, read_bindings
from qbank.audit.binding.text import binding_text

__all__ = ["Binding", "Bound", "bind", "binding_text", "load_bindings", "read_bindings"]
