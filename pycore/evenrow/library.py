"""The package from Python: a document in, an answer out.

What stands here is offered as names of `evenrow` itself and changes only as the page on versions
says.  A *document* is what a design file holds: a nested dict of texts as people write them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from importlib.resources import files
from pathlib import Path
from typing import Any

from evenrow import documents, share
from evenrow.calculators import whole_field
from evenrow.calculators.build_fields import build_choices
from evenrow.calculators.data import shown, to_data
from evenrow.calculators.html import result_html
from evenrow.calculators.reading import carried, in_order, read
from evenrow.calculators.registry import answer, calculator_of
from evenrow.calculators.result import Fact, Figure, Number, Result
from evenrow.calculators.spec import Calculator
from evenrow.calculators.text import to_text
from evenrow.design import demos
from evenrow.design.field import field_of
from evenrow.design.model import Design
from evenrow.design.solve import design
from evenrow.errors import InputError
from evenrow.units import UnitSystem
from evenrow.words import tr

#: Style sheets of answers, in the order in which they stand on a page.
_STYLES = (
    ("evenrow.figures", "chart.css"),
    ("evenrow.figures", "plan.css"),
    ("evenrow", "notebook.css"),
)


@dataclass(frozen=True, kw_only=True, repr=False)
class Answer:
    """The answer of a calculator to a document.

    A notebook shows it as a page does; `to_text` is what the command prints, `to_dict` what
    ``evenrow … --json`` writes.

    Parameters
    ----------
    document : mapping
        What was asked.
    calculator : str
        Id of the calculator that answered.
    system : {"us", "metric"}
        Unit system of what people read.
    """

    document: Mapping[str, Any]
    calculator: str
    system: UnitSystem
    _made: Result | None = field(default=None, compare=False)

    @property
    def result(self) -> Result:
        """The answer in parts: headline, sections of numbers, tables and drawings, notices."""
        assert self._made is not None
        return self._made

    @property
    def headline(self) -> Number | Fact:
        """The one answer to the calculator's question."""
        return self.result.headline

    @property
    def verdict(self) -> str:
        """One plain sentence that says what the headline means."""
        return self.result.verdict

    @property
    def numbers(self) -> dict[str, Number]:
        """Every number of the answer by its name: SI value, kind, rule and source."""
        items = (item for section in self.result.sections for item in section.items)
        found = (self.headline, *items)
        return {item.name: item for item in found if isinstance(item, Number)}

    @property
    def figures(self) -> dict[str, str]:
        """Every drawing of the answer by its name, as an SVG file that carries its styles."""
        items = (item for section in self.result.sections for item in section.items)
        return {item.name: _standalone(item) for item in items if isinstance(item, Figure)}

    def to_dict(self) -> dict[str, Any]:
        """Return the answer as plain data.

        Returns
        -------
        dict
            Ready for JSON: headline, verdict, notices and sections; each number with its raw SI
            ``value`` and ``unit`` (pressure as metres of water), and the ``text`` people read.

        Raises
        ------
        ConvergenceError
            When a number came out as NaN or infinite.
        """
        return to_data(self.result, self.system)

    def to_text(self, *, explain: bool = False) -> str:
        """Return the answer as the command prints it; `explain` adds rules and sources."""
        name = str(self.document.get("name", ""))
        cautions = self._calculator.cautions
        return to_text(self.result, self.system, name, explain=explain, cautions=cautions)

    def link(self) -> str:
        """Return the fragment that opens the document on any copy of the site.

        Raises
        ------
        InputError
            Field ``link``: the document is too large for a link.
        """
        return share.encode(carried(self._calculator, self.document))

    @property
    def _calculator(self) -> Calculator:
        return calculator_of({"calculator": self.calculator})

    def __repr__(self) -> str:
        head = self.headline
        value = (
            shown(head.value, head.kind, self.system, head.digits)
            if isinstance(head, Number)
            else head.text
        )
        return f"<{type(self).__name__} of {self.calculator}: {head.label} {value}>"

    def __str__(self) -> str:
        return self.to_text()

    def _repr_html_(self) -> str:
        # Links to other pages of the site lead nowhere in a notebook.
        calculator = replace(self._calculator, carries=())
        body = result_html(calculator, self.result, self.system)
        return f'<style>{_style()}</style><div class="evenrow md-typeset">{body}</div>'


@dataclass(frozen=True, kw_only=True, repr=False)
class DesignAnswer(Answer):
    """The answer to a whole field, with the design behind it.

    Parameters
    ----------
    document, calculator, system
        As in `Answer`.
    design : Design
        The design: zones as solved, sizes, head assembly, parts; SI values.
    """

    design: Design
    _inputs: Mapping[str, Any] = field(default_factory=dict, compare=False)

    @cached_property
    def _whole(self) -> Result:
        return whole_field.result_of(self.design, self._inputs, self.system)

    @property
    def result(self) -> Result:
        """The answer in parts; worked out when first asked for, from the design."""
        return self._whole


def answer_of(document: Mapping[str, Any]) -> Answer:
    """Work out what a document asks of its calculator.

    Parameters
    ----------
    document : mapping
        A document; ``calculator`` names who answers, the whole field when it is left out.

    Returns
    -------
    Answer
        The answer.

    Raises
    ------
    InputErrors
        With every value that cannot be read, each at its field.
    InputError
        When values that are sound by themselves do not go together.
    ImpossibleError
        When the input is sound and nothing that works exists; says which limit fails and
        which changes would work.
    """
    calculator, result, system = answer(document)
    return Answer(document=document, calculator=calculator.id, system=system, _made=result)


def design_of(document: Mapping[str, Any]) -> DesignAnswer:
    """Design a whole field.

    Parameters
    ----------
    document : mapping
        A document of the whole field.

    Returns
    -------
    DesignAnswer
        The design and what follows from it.

    Raises
    ------
    InputErrors, InputError, ImpossibleError
        As `answer_of`.
    """
    checked = read_document(document)
    inputs, system = read(whole_field.CALCULATOR, checked)
    asked = field_of(inputs, system)
    return DesignAnswer(
        document=checked,
        calculator=whole_field.CALCULATOR.id,
        system=system,
        design=design(asked, build_choices(inputs["build"], timer=asked.timer)),
        _inputs=inputs,
    )


def read_document(source: Mapping[str, Any] | str | Path) -> dict[str, Any]:
    """Return the document in a design file, a text, a link or a mapping, brought up to date.

    Parameters
    ----------
    source : mapping, str or Path
        A path (`Path`, or text that ends in ``.toml`` or ``.json``), a link (text with
        ``design=``), the text of a design file, or a document.

    Raises
    ------
    InputError
        When it cannot be read or was made by a newer version.
    """
    if isinstance(source, Mapping):
        documents.check_shape(source)
        return documents.upgrade(source)
    if isinstance(source, Path) or source.endswith((".toml", ".json")):
        return documents.upgrade(documents.from_text(_bytes(Path(source))))
    if "\n" not in source and "design=" in source:
        return documents.upgrade(share.decode(source))
    return documents.upgrade(documents.from_text(source))


def _bytes(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(documents.MAX_BYTES + 1)
    except OSError as error:
        raise InputError(
            tr("the file cannot be opened: {reason}", reason=error.strerror or ""),
            code="no_file",
            field="file",
            given=str(path),
        ) from None


def write_document(document: Mapping[str, Any]) -> str:
    """Return a document as the text of a design file (TOML), in the order of the form."""
    return documents.to_toml(in_order(calculator_of(document), document))


def demo(name: str) -> dict[str, Any]:
    """Return the document of an invented field to start from; `demo_names` lists them.

    Raises
    ------
    InputError
        Field ``demo``: there is none of that name.
    """
    if name not in demos.NAMES:
        raise InputError(
            tr("there is no such demo"),
            code="unknown_demo",
            field="demo",
            given=name,
            accepted=", ".join(demos.NAMES),
        )
    return demos.demo(name)


def demo_names() -> tuple[str, ...]:
    """Return the names of the invented fields."""
    return demos.NAMES


def _style() -> str:
    parts = (files(package).joinpath(name).read_text("utf-8") for package, name in _STYLES)
    return "\n".join(parts)


def _standalone(figure: Figure) -> str:
    """Return a drawing with the styles it needs, fit to be a file."""
    head, mark, rest = figure.svg.partition(">")
    space = "" if "xmlns=" in head else ' xmlns="http://www.w3.org/2000/svg"'
    return f"{head}{space}{mark}<style>{_style()}</style>{rest}"
