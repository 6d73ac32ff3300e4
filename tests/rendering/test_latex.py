r"""LaTeX of formulas by the rules of the standards, and documents that TeX can read.

Each rule names where it is from: ISO 80000-1:2009, ISO 80000-2:2019 and NIST SP 811 (2008),
from memory. No TeX is needed: the documents are held to what TeX asks of them, groups and
environments that close, and no special sign that stands unescaped.
"""

from __future__ import annotations

import re
from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qbank.cli.main import exit_code_of
from qbank.expressions.formula_writer import Words
from qbank.expressions.formulas import typeset
from qbank.expressions.latex_formulas import number_latex, symbol_latex, unit_latex, value_latex
from qbank.expressions.parser import parse_condition, parse_value
from qbank.expressions.symbols import symbol
from qbank.family.library import shipped_families
from qbank.family.loader import load_family
from qbank.generation import Generator
from qbank.item import Item
from qbank.rendering.case_formulas import LatexMath
from qbank.rendering.latex import latex_document
from qbank.rendering.latex_text import latex_text
from qbank.rendering.renderer import Renderer
from tests.rendering.reading import maths

PATHS = {path.stem: path for path in shipped_families()}


def latex(text: str, words: Words | None = None) -> str:
    node = parse_condition(text) if re.search("[<>]", text) else parse_value(text)
    return "".join(map(str, typeset(node, {}, (), words or Words(), latex=True).latex))


# ---------------------------------------------------------------------------- rules


@pytest.mark.parametrize(
    ("text", "written"),
    [
        # quantity symbols italic, descriptive subscripts upright: ISO 80000-1, 7.1.1 and 7.1.2;
        # SP 811, 10.1 and 10.2.1
        ("m", "m"),
        ("m_a", r"m_{\mathrm{a}}"),
        ("v_max", r"v_{\mathrm{max}}"),
        ("m_1", "m_{1}"),
        ("theta", r"\theta "),
        ("mu_s", r"\mu _{\mathrm{s}}"),
        ("Omega", r"\varOmega "),
        # a difference sign and multi-letter abbreviations upright: ISO 80000-2, clause 4
        ("ΔT", r"\Delta T"),
        ("pH", r"\mathrm{pH}"),
        ("x\u0304", r"\bar{x}"),
        ("F′", "F'"),
        ("m_a_b", r"m_{\mathrm{a},\mathrm{b}}"),
    ],
)
def test_symbols(text: str, written: str) -> None:
    assert symbol_latex(symbol(text)) == written


@pytest.mark.parametrize(
    ("unit", "written"),
    [
        # units upright: ISO 80000-1, 7.2.1; SP 811, 6.1.1; products with a thin space: 7.2.2, 6.1.5
        ("kg·m²", r"\mathrm{kg\,m^{2}}"),
        ("N·m", r"\mathrm{N\,m}"),
        # one solidus, with parentheses about what follows: 7.2.2, 6.1.6
        ("J/(mol·K)", r"\mathrm{J/(mol\,K)}"),
        ("s⁻¹", r"\mathrm{s^{-1}}"),
        ("µm", r"\mathrm{\text{\textmu}m}"),
        ("kΩ", r"\mathrm{k\Omega }"),
        ("°C", r"\mathrm{{}^{\circ}C}"),
        ("%", r"\mathrm{\%}"),
    ],
)
def test_units(unit: str, written: str) -> None:
    assert unit_latex(unit) == written


@pytest.mark.parametrize(
    ("number", "unit", "standing", "written"),
    [
        # a space between number and unit, none before the degree of an angle: ISO 80000-1, 7.1.4;
        # SP 811, 7.2; a value with its unit in parentheses as a factor: 7.1.4, 7.7
        ("3.8", "kg", "alone", r"3.8\,\mathrm{kg}"),
        ("3.8", "kg", "factor", r"(3.8\,\mathrm{kg})"),
        ("3.8", "", "factor", "3.8"),
        ("30", "°", "alone", r"30^{\circ}"),
        ("−0.50", "m/s", "term", r"(-0.50\,\mathrm{m/s})"),
        ("9.60 × 10⁻⁴", "mol/L", "alone", r"9.60\times 10^{-4}\,\mathrm{mol/L}"),
        ("9.60 × 10⁻⁴", "", "factor", r"(9.60\times 10^{-4})"),
    ],
)
def test_values(number: str, unit: str, standing: str, written: str) -> None:
    assert value_latex(number, unit, standing) == written  # type: ignore[arg-type]


def test_a_decimal_comma_takes_no_space_after_it() -> None:
    # ISO 80000-1, 7.3.2: the decimal sign is a comma or a point on the line
    assert number_latex("1,50") == "1{,}50"
    assert number_latex("1,5; 2,5") == "1{,}5; 2{,}5"
    assert latex("1.5*x", Words(mark=",")) == r"1{,}5\,x"


@pytest.mark.parametrize(
    ("text", "written"),
    [
        # products: nothing or a dot between symbols, a dot between numbers: ISO 80000-1, 7.1.3
        ("m*g", r"m\,g"),
        ("2*x", r"2\,x"),
        ("x*2", r"x \cdot 2"),
        ("2*3", r"2 \cdot 3"),
        ("(3 kg)*g", r"(3\,\mathrm{kg}) \cdot g"),
        ("-(3 kg)*g", r"-(3\,\mathrm{kg}) \cdot g"),
        ("a/b", r"\frac{a}{b}"),
        ("(a + b)/c", r"\frac{a + b}{c}"),
        ("(a/b)*c", r"\frac{a}{b}\,c"),
        ("(a/b)^2", r"\left(\frac{a}{b}\right)^{2}"),
        ("(a + b)^2", "(a + b)^{2}"),
        ("m_1*v_1^2", r"m_{1}\,v_{1}^{2}"),
        ("a - (b - c)", "a - (b - c)"),
        ("2^(-t/T)", r"2^{\frac{-t}{T}}"),
        ("exp(-t)", r"\mathrm{e}^{-t}"),  # the base of logarithms upright: ISO 80000-2, clause 4
        ("exp(x)^2", r"{\mathrm{e}^{x}}^{2}"),
        ("2*pi*r", r"2\,\pi \,r"),
        ("sqrt(2*g*h)", r"\sqrt{2\,g\,h}"),
        ("cbrt(V)", r"\sqrt[3]{V}"),
        # functions upright: ISO 80000-2, clause 4
        ("sin(x)^2", r"\sin^{2}(x)"),
        ("asin(x/y)", r"\arcsin\left(\frac{x}{y}\right)"),
        ("ln(2)", r"\ln(2)"),
        ("log10(x)", r"\log_{10}(x)"),
        ("sign(x)", r"\operatorname{sgn}(x)"),
        ("abs(x/y)", r"\left|\frac{x}{y}\right|"),
        ("floor(x)", r"\left\lfloor x\right\rfloor "),
        ("max(a, b)", r"\max(a,\,b)"),
        ("t_quantile(0.975, n)", r"t_{0.975;\,n}"),
        ("chi2_quantile(0.95, n)", r"\chi ^{2}_{0.95;\,n}"),
        ("0 < h <= c", r"0 < h \le c"),
        ("a > b and not (c < d)", r"a > b\text{ and }\text{not }(c < d)"),
    ],
)
def test_formulas(text: str, written: str) -> None:
    assert latex(text) == written


# ---------------------------------------------------------------------------- documents


@cache
def documents(name: str) -> list[str]:
    """An item of each of a few instances, in every language of the family."""
    made = []
    for language in load_family(PATHS[name]).languages:
        family = load_family(PATHS[name], language)
        (instances,) = Generator(family).generate(3, seed=2)
        items = Renderer(family, latex=True).items(instances)
        made += [latex_document(item) for item in items]
    return made


def faults_of_tex(document: str) -> list[str]:
    """What TeX would stumble over: groups, environments, math that does not close, bare signs."""
    faults = []
    open_: list[str] = []
    math = False
    tabular = False
    tokens = re.finditer(
        r"\\begin\{(\w+)\}|\\end\{(\w+)\}|\\([A-Za-z]+|.)|(.)", document, re.DOTALL
    )
    for token in tokens:
        begun, ended, command, sign = token.groups()
        if begun:
            open_.append(begun)
            tabular |= begun == "tabular"
        elif ended:
            if not open_ or open_.pop() != ended:
                faults.append(f"\\end{{{ended}}} has no beginning")
            tabular &= ended != "tabular"
        elif command in {"(", "["}:
            if math:
                faults.append("math within math")
            math = True
        elif command in {")", "]"}:
            math = False
        elif sign == "{":
            open_.append("{")
        elif sign == "}":
            if not open_ or open_.pop() != "{":
                faults.append("a brace too many")
        elif sign in {"^", "_"} and not math:
            faults.append(f"'{sign}' outside math")
        elif (sign is not None and sign in "$#%") or (sign == "&" and not tabular):
            faults.append(f"a bare '{sign}'")
        elif sign is not None and not sign.isascii() and not sign.isalpha():
            faults.append(f"'{sign}' has no glyph in T1")
    if open_ or math:
        faults.append(f"open at the end: {open_}")
    faults += [f"double {m[0]}" for m in re.finditer(r"\^\{[^{}]*\}\^|_\{[^{}]*\}_", document)]
    return faults


@pytest.mark.parametrize("name", PATHS)
def test_documents_are_whole_and_hold_no_sign_tex_takes_amiss(name: str) -> None:
    for document in documents(name):
        assert not faults_of_tex(document), document
        assert document.startswith("\\documentclass")
        assert document.endswith("\\end{document}\n")


@pytest.mark.parametrize(
    "text", ["a_b", r"\begin{x}", "50 %", "a & b", "{", r"\(x", "x^2", "#1", "$5", "x²"]
)
def test_the_check_of_documents_can_fail(text: str) -> None:
    assert faults_of_tex(text)


@given(st.text(max_size=60))
def test_any_text_is_escaped(text: str) -> None:
    written = latex_text(text)
    faults = [fault for fault in faults_of_tex(written) if "T1" not in fault]
    assert not faults
    assert not re.search(r"[\"<>|`~](?!\))", written.replace("~", "")), written
    assert not re.search("--|''|,,|!`|[?]`", written)
    assert not re.search("[\x00-\x09\x0b-\x1f]", written)


@pytest.mark.parametrize(
    ("text", "written"),
    [
        (r"50 % of {a_b} & \c #1 $2 ^~", r"50~\% of \{a\_b\} \& \textbackslash{}c \#1 \$2 "
         r"\textasciicircum{}\textasciitilde{}"),
        ("2.0 kg·m² and 7 values", r"2.0~kg\(\cdot\)m\textsuperscript{2} and 7 values"),
        ("−5 °C", r"\(-\)5~\textdegree{}C"),
        ("θ, μ₁", r"\(\theta\), \(\mu\)\textsubscript{1}"),
        ("a -- b ''c'' ?`", r"a -{}- b '{}'c'{}' ?\textasciigrave{}"),
        ('"so"', r"\textquotedbl{}so\textquotedbl{}"),
        ("Größe", "Größe"),
    ],
)  # fmt: skip
def test_text(text: str, written: str) -> None:
    assert latex_text(text) == written


def test_german_has_its_hyphenation_and_english_asks_for_no_package() -> None:
    english, german = documents("thin-lens")[0], documents("thin-lens")[-1]
    assert "babel" not in english
    assert r"\usepackage[ngerman]{babel}" in german
    assert r"\subsection*{Lösungsweg}" in german
    assert re.search(r"\d\{,\}\d", german)


# ---------------------------------------------------------------------------- asked for


def made(latex: bool) -> Item:
    family = load_family(PATHS["stepped-drum"])
    (instances,) = Generator(family).generate(1)
    return Renderer(family, latex=latex).item(instances, 0)


def test_latex_is_made_only_when_asked_for() -> None:
    assert not any(isinstance(formula, LatexMath) for formula in maths(made(latex=False)))
    with pytest.raises(ValueError, match="latex=True"):
        latex_document(made(latex=False))
    asked = made(latex=True)
    plain = [(formula.mathml, formula.plain) for formula in maths(asked)]
    assert plain == [(formula.mathml, formula.plain) for formula in maths(made(latex=False))]


@pytest.mark.parametrize(
    "arguments",
    [
        ["show", "thin-lens", "--latex", "--language", "de"],
        ["work", "thin-lens", "f=12cm", "d_o=30cm", "h_o=4cm", "--latex"],
    ],
)
def test_commands_print_the_document(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert exit_code_of(arguments) == 0
    assert not faults_of_tex(capsys.readouterr().out)
    assert exit_code_of([*arguments, "--json"]) == 2
    assert "leave one of them out" in capsys.readouterr().err
