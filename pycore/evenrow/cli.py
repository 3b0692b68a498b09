"""The `evenrow` command: the calculators, design files and links in a terminal.

Exit status 0: answered; 2: something given cannot be used; 3: nothing that works exists.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import sys
from collections.abc import Sequence
from contextlib import nullcontext
from datetime import datetime
from pathlib import Path
from typing import Any, NoReturn, cast

import evenrow
from evenrow import documents, share
from evenrow.batch.command import add_batch
from evenrow.calculators import field_sheet, reading
from evenrow.calculators.data import to_data
from evenrow.calculators.reading_value import unprintable
from evenrow.calculators.registry import CALCULATORS, answer, calculator_of
from evenrow.calculators.schema import document_schema
from evenrow.calculators.spec import Calculator, Field
from evenrow.calculators.text import to_text
from evenrow.catalogue import current, using
from evenrow.catalogue.directory import load_directory
from evenrow.catalogue.host import host_cautions, read_host
from evenrow.catalogue.price_file import prices_csv
from evenrow.catalogue.schema import schemas
from evenrow.errors import EvenrowError, ImpossibleError, InputError, InputErrors
from evenrow.site import command as site
from evenrow.units import UnitSystem
from evenrow.words import LANGUAGES, tr, use_language

OK, BAD_INPUT, IMPOSSIBLE = 0, 2, 3

#: Cells of a table row: a comma inside a number ("2,5 L") has no space behind it.
_CELLS = re.compile(r"\s*(?:;|,\s)\s*")

#: Options that stand before the command.
LEADING = ("--catalogue", "--language")

_OPTION = re.compile(r"--[a-z-]+")
_NEGATIVE = re.compile(r"-[0-9.,]")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command.

    Parameters
    ----------
    arguments : sequence of str, optional
        Words behind the command's name; those of the process by default.

    Returns
    -------
    int
        Exit status.
    """
    words = list(sys.argv[1:] if arguments is None else arguments)
    with use_language(_leading(words, "--language")):
        return _main(words)


def _main(words: list[str]) -> int:
    try:
        folder = _leading(words, "--catalogue")
        catalogue = load_directory(folder) if folder else None
        with using(catalogue) if catalogue else nullcontext():
            # The words of the command name the lines and pipes of the catalogue in use.
            options = _parser().parse_args(_joined(words))
            status: int = options.action(options) or OK
        sys.stdout.flush()
    except BrokenPipeError:
        # The reader has gone, as with "| head". Nothing more can be written, not even the
        # last flush of the interpreter, which would complain.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return OK
    except ImpossibleError as error:
        _complain(tr("No design is possible, because"), [error.message])
        for change in error.changes:
            print("  " + tr("What would work: {change}", change=change), file=sys.stderr)
        return IMPOSSIBLE
    except EvenrowError as error:
        found = error.errors if isinstance(error, InputErrors) else (error,)
        _complain(tr("This cannot be used:"), [_sentences(each) for each in found])
        return BAD_INPUT
    return status


def _leading(words: list[str], option: str) -> str:
    """Return the value of an option that stands before the command, or "".

    The words of the command follow from these options, so that they are read before it is.
    """
    rest = iter(words)
    for word in rest:
        name, equals, value = word.partition("=")
        if name not in LEADING:
            break
        value = value if equals else next(rest, "")
        if name == option:
            return value
    return ""


def _joined(words: list[str]) -> list[str]:
    """Return the words with a value such as -0.6% joined to the option before it.

    Otherwise the minus would be taken for the beginning of another option.
    """
    joined: list[str] = []
    for word in words:
        if _NEGATIVE.match(word) and joined and _OPTION.fullmatch(joined[-1]):
            joined[-1] += f"={word}"
        else:
            joined.append(word)
    return joined


def _sentences(error: EvenrowError) -> str:
    place = f"{error.field}: " if error.field else ""
    parts = [f"{place}{error.message}."]
    if error.given:
        parts.append(tr("Given: {given}.", given=error.given))
    if error.accepted:
        parts.append(tr("Accepted: {accepted}.", accepted=error.accepted))
    if error.hint:
        parts.append(tr("Try: {hint}.", hint=error.hint))
    return " ".join(parts)


def _complain(opening: str, messages: Sequence[str]) -> None:
    print(opening, file=sys.stderr)
    for message in messages:
        print(f"  {message}", file=sys.stderr)


# --- the words of the command --------------------------------------------------------------


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="evenrow",
        description=tr("Drip irrigation systems that water the last plant as well as the first."),
    )
    parser.add_argument("--version", action="version", version=f"evenrow {evenrow.__version__}")
    parser.add_argument(
        "--catalogue",
        metavar="DIR",
        help=tr("before the command: work with the catalogue in this folder"),
    )
    parser.add_argument(
        "--language",
        choices=list(LANGUAGES),
        help=tr("before the command: language of the texts"),
    )
    commands = parser.add_subparsers(metavar="COMMAND", required=True)

    design = commands.add_parser("design", help=tr("work out a design file"))
    design.add_argument("file", metavar="FILE", help=tr("design file, or - for standard input"))
    _add_output_options(design)
    design.set_defaults(action=_design)

    add_batch(commands)

    opened = commands.add_parser("open", help=tr("print the design file inside a link"))
    opened.add_argument("link", metavar="LINK")
    opened.set_defaults(action=_open)

    sheet = commands.add_parser(
        "sheet",
        help=tr("write the field sheet of a design: two sides to print, as one HTML file"),
    )
    sheet.add_argument("file", metavar="FILE", help=tr("design file, or - for standard input"))
    sheet.add_argument(
        "--out", metavar="SHEET", help=tr("file to write; standard output if left out")
    )
    sheet.add_argument(
        "--address",
        metavar="URL",
        help=tr(
            "page of the whole field on your site: the code on the sheet opens the design there"
        ),
    )
    sheet.set_defaults(action=_sheet)

    listed = commands.add_parser("demos", help=tr("list the invented designs to start from"))
    listed.set_defaults(action=_list_demos)

    demo = commands.add_parser("demo", help=tr("print the design file of a demo"))
    demo.add_argument("name", metavar="NAME")
    demo.set_defaults(action=_demo)

    shape = commands.add_parser(
        "schema", help=tr("print the JSON Schema of the design file, for an editor")
    )
    shape.set_defaults(action=_print_document_schema)

    _add_catalogue(commands)
    site.add_command(commands)
    for calculator in CALCULATORS.values():
        _add_calculator(commands, calculator)
    return parser


def _add_catalogue(commands: Any) -> None:
    kept = commands.add_parser(
        "catalogue", help=tr("check a catalogue of your own, print its prices")
    )
    jobs = kept.add_subparsers(metavar="JOB", required=True)
    check = jobs.add_parser("check", help=tr("say what is wrong in the files of a catalogue"))
    check.add_argument("folder", metavar="DIR")
    check.set_defaults(action=_check_catalogue)
    prices = jobs.add_parser(
        "prices",
        help=tr("print the price list of the catalogue in use, to keep in a spreadsheet"),
    )
    prices.set_defaults(action=_print_prices)
    schema = jobs.add_parser(
        "schema",
        help=tr("print the JSON Schema of a file of a catalogue, for an editor"),
    )
    schema.add_argument("file", choices=list(schemas()))
    schema.set_defaults(action=_print_schema)


def _add_output_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--units", choices=reading.SYSTEMS, help=tr("units of the answer"))
    parser.add_argument("--json", action="store_true", help=tr("print the answer as JSON"))
    parser.add_argument(
        "--explain", action="store_true", help=tr("print the rule and the source of each number")
    )
    parser.add_argument("--link", action="store_true", help=tr("print the link fragment instead"))


def option_name(field: Field) -> str:
    """Return the option of a field: ``source.static_pressure`` is ``--source-static-pressure``."""
    return "--" + field.name.replace(".", "-").replace("_", "-")


def _add_calculator(commands: Any, calculator: Calculator) -> None:
    parser = commands.add_parser(
        calculator.id,
        help=tr(calculator.question),
        allow_abbrev=False,
        description=tr(
            "{question} Options that are not given keep their default.",
            question=tr(calculator.question),
        ),
    )
    parser.add_argument("design", metavar="FILE", nargs="?", help=tr("begin with this design file"))
    parser.add_argument("--file", metavar="FILE", help=tr("the same"))
    _add_output_options(parser)
    for field in calculator.fields:
        # argparse reads % in a help text as a place to fill in.
        text = f"{tr(field.label)}. {tr(field.help)}".replace("%", "%%")
        if field.kind == "table":
            names = ", ".join(tr(column.label).lower() for column in field.columns)
            once = tr("Once for each row: {names}.", names=names)
            parser.add_argument(
                option_name(field),
                dest=field.name,
                action="append",
                metavar="ROW",
                help=f"{text} {once}",
            )
        else:
            choices = "|".join(choice.value for choice in field.choices)
            parser.add_argument(
                option_name(field), dest=field.name, metavar=choices or "VALUE", help=text
            )
    parser.set_defaults(action=_calculate, calculator=calculator)


# --- what they do --------------------------------------------------------------------------


def _design(options: argparse.Namespace) -> None:
    document = documents.upgrade(_read_file(options.file))
    if options.units:
        document["units"] = options.units
    _answer(document, options)


def _calculate(options: argparse.Namespace) -> None:
    calculator: Calculator = options.calculator
    file = options.design or options.file
    if file:
        document = documents.upgrade(_read_file(file))
        # A design of the whole field can be asked for its options: what does not fit is refused.
        document["calculator"] = calculator.id
    else:
        system = cast(UnitSystem, options.units or "metric")
        document = reading.default_document(calculator, system)
    if options.units:
        document["units"] = options.units
    for field in calculator.fields:
        given = getattr(options, field.name)
        if given is not None:
            value = [_row(field, row) for row in given] if field.kind == "table" else given
            reading.put(document, field.name, value)
    _answer(document, options)


def _row(field: Field, text: str) -> dict[str, str]:
    """Return one row of a table from its text, ``"5 gal, 41 s"``."""
    cells = _CELLS.split(text.strip())
    if len(cells) > len(field.columns):
        raise InputError(
            tr("{table}: a row has too many parts", table=tr(field.label)),
            code="bad_row",
            field=field.name,
            given=text,
            accepted=", ".join(tr(column.label).lower() for column in field.columns),
        )
    return {column.name: cell for column, cell in zip(field.columns, cells, strict=False)}


def _answer(document: dict[str, Any], options: argparse.Namespace) -> None:
    calculator, result, system = answer(document)
    if options.link:
        print(share.encode(reading.carried(calculator, document)))
    elif options.json:
        print(json.dumps(to_data(result, system), ensure_ascii=False, indent=2, allow_nan=False))
    else:
        name = str(document.get("name", ""))
        cautions = (*calculator.cautions, *host_cautions())
        text = to_text(result, system, name, explain=options.explain, cautions=cautions)
        print(text, end="")


def _open(options: argparse.Namespace) -> None:
    _print_document(documents.upgrade(share.decode(options.link)))


def _print_document(document: dict[str, Any]) -> None:
    text = documents.to_toml(reading.in_order(calculator_of(document), document))
    # Nobody has checked these texts yet: what would steer the terminal is written as its number.
    print("".join(f"\\u{ord(c):04x}" if unprintable(c) else c for c in text), end="")


def _check_catalogue(options: argparse.Namespace) -> None:
    catalogue = load_directory(options.folder)
    read_host(options.folder, called=catalogue.name)
    print(catalogue.mark)
    for line in catalogue.summary:
        print(f"  {line}")
    for note in catalogue.notes:
        print(f"{tr('Note')}: {note}.")


def _print_prices(options: argparse.Namespace) -> None:
    print(prices_csv(current()), end="")


def _print_document_schema(options: argparse.Namespace) -> None:
    print(json.dumps(document_schema(), ensure_ascii=False, indent=2))


def _print_schema(options: argparse.Namespace) -> None:
    print(json.dumps(schemas()[options.file], ensure_ascii=False, indent=2))


def _demos() -> dict[str, tuple[str, Calculator]]:
    """Return every demo by its name in the command: what it is called, and whose it is."""
    return {
        re.sub(r"[^a-z0-9]+", "-", title.lower()).strip("-"): (title, calculator)
        for calculator in CALCULATORS.values()
        for title in calculator.examples
    }


def _sheet(options: argparse.Namespace) -> None:
    document = documents.upgrade(_read_file(options.file))
    calculator = calculator_of(document)
    link = ""
    if options.address:
        # What stands behind the mark would be no design.
        address = options.address.partition("#")[0]
        link = f"{address}#{share.encode(reading.carried(calculator, document))}"
    made = field_sheet.sheet_of(document, link=link, date=datetime.now().date().isoformat())
    text = field_sheet.standalone(made)
    if options.out is None:
        print(text, end="")
        return
    try:
        Path(options.out).write_text(text, encoding="utf-8")
    except OSError as error:
        _refuse_file(options.out, error, writing=True)


def _list_demos(options: argparse.Namespace) -> None:
    found = _demos()
    width = max((len(name) for name in found), default=0)
    for name, (title, calculator) in found.items():
        print(f"{name:<{width}}  {tr(title)} ({tr(calculator.title).lower()})")


def _demo(options: argparse.Namespace) -> None:
    found = _demos()
    names = [name for name in found if name.startswith(options.name.lower())]
    if len(names) != 1 and options.name not in found:
        raise InputError(
            tr("there is no such demo"),
            code="unknown_demo",
            field="demo",
            given=options.name,
            accepted=", ".join(found),
        )
    title, calculator = found[options.name if options.name in found else names[0]]
    _print_document(reading.example_document(calculator, title))


def _read_file(name: str) -> dict[str, Any]:
    """Return the document in a file; never reads more than a design file may hold."""
    try:
        if name == "-":
            return documents.from_text(sys.stdin.buffer.read(documents.MAX_BYTES + 1))
        with Path(name).open("rb") as file:
            return documents.from_text(file.read(documents.MAX_BYTES + 1))
    except OSError as error:
        _refuse_file(name, error)


def _refuse_file(name: str, error: OSError, *, writing: bool = False) -> NoReturn:
    reason = error.strerror or tr("it cannot be used")
    raise InputError(
        tr(
            "the file cannot be written: {reason}"
            if writing
            else "the file cannot be opened: {reason}",
            reason=reason,
        ),
        code="no_file",
        field="file",
        given=name,
    ) from None
