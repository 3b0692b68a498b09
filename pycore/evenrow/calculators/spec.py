"""How a calculator is declared: once, and everything else follows from it.

From one `Calculator` come the form and its default result in the built page,
the live call in the browser, the subcommand of `evenrow`, the reference page
and the bad-input tests.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from evenrow.calculators.result import Result
from evenrow.units import UnitSystem
from evenrow.words import tr

#: Kinds of field that hold no quantity with a unit.
PLAIN_KINDS = ("text", "choice", "flag", "count", "table")


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One entry of a choice field: the `value` in the file, the `label` on screen."""

    value: str
    label: str


@dataclass(frozen=True, kw_only=True)
class Field:
    """One thing that the user is asked for.

    Parameters
    ----------
    name : str
        Dotted path of the value in the design file, such as ``"source.static_pressure"``.
        Columns of a table use a bare name.
    label : str
        What the form and the command call it.
    kind : str
        A quantity known to `evenrow.units` (``"length"``, ``"pressure"``, …), or one of
        `PLAIN_KINDS`.
    help : str
        One or two plain sentences: what it is and where to find it.
    default : str or mapping of unit system to str
        What stands in the form at first, as people write it (``"62 ft"``). "" = empty.
        For a table: see `rows`.
    lo, hi : float, optional
        Impossible beyond these: SI value for a quantity, number for a count,
        number of characters for a text. Bounds are inclusive.
    above : float, optional
        Exclusive lower bound, where zero itself is impossible.
    required : bool
        Whether an empty field is an error. An empty optional field reads as None.
    choices : sequence of Choice
        Accepted values of a choice field; they may follow the catalogue in use.
    columns : tuple of Field
        Columns of a table field.
    rows : mapping of unit system to tuple of mapping, or None
        Rows that stand in a table field at first (text by column name).
    row_limits : (int, int)
        Fewest and most rows of a table.
    group : str
        Heading under which the field stands; fields of one group follow each other.
    folded : bool
        Whether the group starts folded away (for what few people need).
    assumed : bool
        Whether a design file that leaves the field out means its default. False for what
        only the user knows: there, leaving it out is an error or (optional) None.
    only_for : (str, tuple of str), optional
        Name of a choice field and the values of it for which this field matters; the form
        hides it for the others.
    """

    name: str
    label: str
    kind: str
    help: str
    default: str | Mapping[str, str] = ""
    lo: float | None = None
    hi: float | None = None
    above: float | None = None
    required: bool = True
    choices: Sequence[Choice] = ()
    columns: tuple[Field, ...] = ()
    rows: Mapping[str, tuple[Mapping[str, str], ...]] | None = None
    row_limits: tuple[int, int] = (1, 50)
    group: str = ""
    folded: bool = False
    assumed: bool = False
    only_for: tuple[str, tuple[str, ...]] | None = None

    def default_for(self, system: UnitSystem) -> str:
        """Return the text that stands in the form at first, in one unit system.

        Of a text field it is in the language in use. Where the catalogue in use does not have the
        default of a choice, that is the first.
        """
        text = self.default if isinstance(self.default, str) else self.default[system]
        if self.kind == "text":
            return tr(text)
        values = [choice.value for choice in self.choices]
        return values[0] if text and values and text not in values else text


@dataclass(frozen=True, kw_only=True)
class Added:
    """A row that an answer adds to a table of another calculator, such as a check to a log.

    Parameters
    ----------
    numbers : mapping of str to str
        Name of a number of the answer to the column that it fills.
    inputs : mapping of str to str
        Field of this calculator to the column that takes what was typed there.
    dated : str
        Column that gets the day on which the link was followed if nothing else fills it; "" for
        none.
    """

    numbers: Mapping[str, str]
    inputs: Mapping[str, str] = field(default_factory=dict)
    dated: str = ""


@dataclass(frozen=True, kw_only=True)
class Carry:
    """What another calculator can take over from this one.

    Parameters
    ----------
    to : str
        Id of the other calculator.
    label : str
        What the link to it says: its title.
    numbers : mapping of str to str
        Name of a number of the answer to the field of the other that it fills. A number that
        an answer does not have is left out.
    inputs : mapping of str to str
        Field of this calculator to the field of the other that takes what was typed there. Of
        a table the other takes the columns that it knows too.
    tables : mapping of str to (str, mapping of str to str)
        Name of a table of the answer to a table field of the other, and which column of the
        answer fills which column there; the rows come in their order.
    facts : mapping of str to str
        Name of a fact of the answer, whose text is `Named`, to the choice of the other that it
        makes.
    fixed : mapping of str to str
        Field of the other to a text that it gets always, such as the choice that makes it look
        at the rest.
    adds : mapping of str to Added
        Table field of the other to the row that it gets in addition.
    """

    to: str
    label: str
    numbers: Mapping[str, str] = field(default_factory=dict)
    inputs: Mapping[str, str] = field(default_factory=dict)
    tables: Mapping[str, tuple[str, Mapping[str, str]]] = field(default_factory=dict)
    facts: Mapping[str, str] = field(default_factory=dict)
    fixed: Mapping[str, str] = field(default_factory=dict)
    adds: Mapping[str, Added] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Calculator:
    """One calculator: its fields, its function, and the words around them.

    Parameters
    ----------
    id : str
        Name in links, files and commands, in lower case with hyphens (``"run-length"``).
    title : str
        Heading.
    question : str
        The question it answers, in the grower's words.
    fields : tuple of Field
        What it asks for, in the order of the form.
    run : callable
        ``run(inputs, system) -> Result``. `inputs` is nested by dotted field name; quantities
        are SI floats (pressure as metres of water), counts int, flags bool, tables lists of
        dicts, empty optional fields None. Raises `InputError` at a field or `ImpossibleError`.
    examples : mapping of str to callable
        Named worked documents to start from; each callable returns the document.
    cautions : tuple of str
        Safety notes that always stand with the result.
    carries : tuple of Carry
        Calculators that can go on with this answer.
    """

    id: str
    title: str
    question: str
    fields: tuple[Field, ...]
    run: Callable[[Mapping[str, Any], UnitSystem], Result]
    examples: Mapping[str, Callable[[], dict[str, Any]]]
    cautions: tuple[str, ...] = ()
    carries: tuple[Carry, ...] = ()
