"""Forms written as banks: one package a form and format, every item shown, in order."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from qbank.formats.base import WriteReport
from qbank.formats.registry import find_format
from qbank.formats.writing import write_bank
from qbank.forms.blueprint import Blueprint, load_blueprint
from qbank.forms.drawing import draw_forms
from qbank.forms.formset import Form, FormSet
from qbank.item import BankInfo, Item, Pool
from qbank.making import DEFAULT_FORMATS, make_folder, unadaptive
from qbank.rendering.renderer import Renderer


def make_forms(
    blueprint: Blueprint | Path | str,
    *,
    seed: int = 0,
    forms: int | None = None,
    formats: Sequence[str] = DEFAULT_FORMATS,
    out: str | Path = "forms",
    unpacked: bool = False,
    progress: Callable[[int], None] | None = None,
) -> tuple[FormSet, tuple[WriteReport, ...]]:
    """Draw the forms of a blueprint, or of a blueprint file, and write each as a bank.

    `forms` takes the place of the number in the blueprint. The packages of form 1 come first, one
    a format, then those of form 2. Nothing is written before all forms are drawn.

    Raises the errors of `load_blueprint` and `draw_forms`, QbankError for an unknown format and
    OutputError when a package cannot be written.
    """
    read = blueprint if isinstance(blueprint, Blueprint) else load_blueprint(blueprint)
    for name in formats:
        find_format(name)
    drawn = draw_forms(read, seed, forms)
    return drawn, write_forms(drawn, formats, Path(out), unpacked=unpacked, progress=progress)


def write_forms(
    drawn: FormSet,
    formats: Sequence[str],
    folder: Path,
    *,
    unpacked: bool = False,
    progress: Callable[[int], None] | None = None,
) -> tuple[WriteReport, ...]:
    """Write each form as one package a format into the folder, which is made if missing.

    As in a bank that `make` writes, a table is always a folder, and no item is adaptive.
    """
    writers = [find_format(name) for name in dict.fromkeys(formats)]
    families = {item.family: item.instance.family for form in drawn.forms for item in form.items}
    renderers = {name: Renderer(family) for name, family in families.items()}
    make_folder(folder)
    packages = []
    for form in drawn.forms:
        for writer in writers:
            as_folder = unpacked or not writer.capabilities.zipped
            packages.append(
                write_bank(
                    _bank_info(drawn, form),
                    unadaptive(_items(form, renderers), writer),
                    folder / writer.file_name(f"{drawn.title} form {form.number}", as_folder),
                    writer.name,
                    unpacked=as_folder,
                    progress=progress,
                )
            )
    return tuple(packages)


def _items(form: Form, renderers: dict[str, Renderer]) -> Iterator[Item]:
    for item in form.items:
        yield renderers[item.family].item(item.instance, 0)


def _bank_info(drawn: FormSet, form: Form) -> BankInfo:
    """A pool of one for each item: the test shows them all, in this order."""
    pools = []
    for number, item in enumerate(form.items, start=1):
        family = item.instance.family
        title = f"{number}. {family.title}"
        pools.append(Pool(f"item-{number}-{family.name}", title, 1, len(family.ask)))
    language = form.items[0].instance.family.texts.language
    name = f"{drawn.title} form {form.number}"
    return BankInfo(name, f"{drawn.title}, form {form.number}", language, tuple(pools))
