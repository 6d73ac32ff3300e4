"""The library's public face: what it promises is there, and importing it costs nothing."""

from __future__ import annotations

import subprocess
import sys

import qbank


def test_every_public_name_resolves_and_has_a_docstring():
    assert qbank.__all__ == sorted(qbank.__all__, key=lambda name: (not name.isupper(), name))
    assert set(qbank.__all__) == set(qbank._HOME)
    for name in qbank.__all__:
        value = getattr(qbank, name)
        assert name == "FORMATS" or value.__doc__, name


def test_an_unknown_name_is_an_attribute_error():
    assert not hasattr(qbank, "no_such_name")


def test_importing_the_package_imports_no_heavy_library():
    code = "import sys, qbank.cli.main; print([m for m in HEAVY if m in sys.modules])"
    heavy = "HEAVY = ('sympy', 'numpy', 'lxml', 'yaml', 'mpmath');"
    done = subprocess.run([sys.executable, "-c", heavy + code], capture_output=True, text=True)
    assert done.stdout.strip() == "[]", done.stdout + done.stderr


def test_the_version_is_the_one_of_the_distribution():
    from importlib.metadata import version

    assert version("qbank") == qbank.__version__


def test_no_module_hides_a_function_of_the_same_name():
    # A submodule becomes an attribute of the package when it is imported.
    from pathlib import Path

    modules = {path.stem for path in Path(qbank.__file__).parent.iterdir()}
    assert not modules & set(qbank.__all__)
