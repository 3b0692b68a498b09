"""Collect the texts of the package, and compare what calculators say in two languages.

Besides being used by the tests, this tells what a calculator lacks while texts are written:

    PYTHONPATH=pycore python tests/contract/language_texts.py run-length
"""

import ast
import copy
import re
import string
import sys
from collections import Counter
from contextlib import contextmanager
from html.parser import HTMLParser
from itertools import zip_longest
from pathlib import Path

import evenrow
from evenrow import words
from evenrow.calculators import field_sheet, html, text
from evenrow.calculators.html_form import ABOUT, NAME
from evenrow.calculators.reading import FREE_TEXTS, SYSTEMS, default_document, example_document, put
from evenrow.calculators.registry import CALCULATORS, answer
from evenrow.calculators.water_filter_form import LAB_LABELS
from evenrow.catalogue import current
from evenrow.catalogue.growing import crops, soils
from evenrow.errors import EvenrowError
from evenrow.quantities import QUANTITIES
from evenrow.words import LANGUAGES, translations, use_language

ROOT = Path(evenrow.__file__).parent
#: The project's own folder, and in it what makes pages at build time.
PROJECT = ROOT.parents[1]
SCRIPTS = PROJECT / "scripts"
MADE_PAGES = [SCRIPTS / name for name in ("mkdocs_hooks.py", "run_table_pages.py")]
TEMPLATES = sorted((PROJECT / "site_src" / "overrides").rglob("*.html"))
MODULES = sorted(ROOT.rglob("*.py")) + MADE_PAGES
OTHERS = [code for code in LANGUAGES if code != "en"]
#: Which arguments of which function are texts.
TEXTS = {"tr": (0,), "said": (0,), "tr_count": (1, 2)}
#: Around everything that went through `tr`, in a language that nobody speaks.
MARKED = "marked"
OPEN, SHUT = "\u27e6", "\u27e7"


# --- texts in the code ---------------------------------------------------------------------


def literals(tree):
    """Yield the line and text of every literal given to a function of `TEXTS`; None for others."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in TEXTS:
            for place in TEXTS[node.func.id]:
                arguments = [node.args[place]] if place < len(node.args) else []
                for argument in arguments:
                    yield from _leaves(argument, node.lineno)


def _leaves(node, line):
    if isinstance(node, ast.IfExp):
        yield from _leaves(node.body, line)
        yield from _leaves(node.orelse, line)
    elif isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield line, node.value
    elif isinstance(node, ast.JoinedStr):
        yield line, None


def places(template):
    """Return how often each place is named in a template."""
    found = string.Formatter().parse(template)
    return Counter(name for _, name, _, _ in found if name is not None)


def collected():
    """Return every text of the code, with where it stands."""
    texts = {}
    for path in MODULES:
        for line, found in literals(ast.parse(path.read_text(encoding="utf-8"))):
            where = f"{path.relative_to(PROJECT)}:{line}"
            assert found is not None, f"{where}: a text with values in it cannot be looked up"
            texts.setdefault(found, where)
    for path in TEMPLATES:
        for found in _SAID_IN_TEMPLATE.findall(path.read_text(encoding="utf-8")):
            texts.setdefault(found, str(path.relative_to(PROJECT)))
    return texts


_SAID_IN_TEMPLATE = re.compile(r"""\bsay\("([^"]*)"\)""")


# --- texts that are declared and shown later -----------------------------------------------


def declared(names=()):
    """Return every text of forms, catalogue and units, with where it stands.

    With names of calculators only the texts of their forms.
    """
    texts = {}
    for calculator in CALCULATORS.values():
        if not names or calculator.id in names:
            for found, where in _of_calculator(calculator):
                texts.setdefault(found, f"{calculator.id}: {where}")
    if not names:
        for found, where in (*_of_catalogue(), *_of_units()):
            texts.setdefault(found, where)
    texts.pop("", None)
    return texts


def _of_calculator(calculator):
    yield calculator.title, "title"
    yield calculator.question, "question"
    yield from ((caution, "caution") for caution in calculator.cautions)
    yield from ((carry.label, "carry") for carry in calculator.carries)
    for field in (NAME, ABOUT, *calculator.fields):
        yield from _of_field(field)
    for name, make in calculator.examples.items():
        yield name, "example"
        document = make()
        yield from ((document.get(key, ""), f"example, {key}") for key in FREE_TEXTS)
        for field in calculator.fields:
            if field.kind == "table":
                yield from _of_rows(field, _value(document, field.name) or ())


#: Text fields that are read as a time, a day or a reading; those of tables bare.
READ = {
    *("timer.start", "season.start", "season.end", "today", "date"),
    *("chemical.chlorine", "chemical.nutrient_dose"),
    *(f"lab.{name}" for name in LAB_LABELS),
}


def _of_field(field):
    yield field.label, field.name
    if field.kind == "text":
        yield from (
            (text, f"{field.name}, default") for text in _defaults(field) if _WORD.search(text)
        )
    yield field.help, f"{field.name}, help"
    yield field.group, "group"
    yield from ((choice.label, f"{field.name}, choice") for choice in field.choices)
    for column in field.columns:
        yield from _of_field(column)
    for system in SYSTEMS:
        yield from _of_rows(field, (field.rows or {}).get(system, ()))


def _of_rows(field, rows):
    free = [column.name for column in field.columns if column.kind == "text"]
    for row in rows:
        texts = (row.get(name, "") for name in free)
        yield from ((text, f"{field.name}, a row") for text in texts if _WORD.search(text))


def _defaults(field):
    return [field.default] if isinstance(field.default, str) else list(field.default.values())


def texts_read():
    """Return the texts in forms and examples that calculators read, such as times of day."""
    found = set()
    for calculator in CALCULATORS.values():
        documents = [make() for make in calculator.examples.values()]
        for field in calculator.fields:
            if field.name in READ:
                found.update(_defaults(field))
                found.update(str(_value(document, field.name)) for document in documents)
            for column in field.columns:
                if column.name in READ:
                    rows = [row for system in SYSTEMS for row in (field.rows or {}).get(system, ())]
                    for document in documents:
                        rows += _value(document, field.name) or ()
                    found.update(row.get(column.name, "") for row in rows)
    return found


def _value(document, name):
    for part in name.split("."):
        document = document.get(part, {})
    return document


def _of_catalogue():
    catalogue = current()
    yield catalogue.name, "catalogue"
    yield catalogue.source, "catalogue"
    for kind in ("devices", "pipes", "parts", "fittings"):
        for entry in getattr(catalogue, kind).values():
            yield entry.label, entry.code
            yield entry.source, entry.code
            if hasattr(entry, "fits") or kind == "parts":
                yield entry.kind, entry.code
    for entry in (*soils().values(), *crops().values()):
        yield entry.label, entry.code
        yield getattr(entry, "stages_for", ""), entry.code
        yield getattr(entry, "group", ""), entry.code


def _of_units():
    for quantity in QUANTITIES.values():
        yield quantity.words, "quantity"
        for unit in (*quantity.more, quantity.us, quantity.metric, quantity.si):
            if re.search(r"\b(?:of|per)\b", unit):
                yield unit, "unit"
        for example in (quantity.example_us, quantity.example_metric):
            if re.search(r"\b(?:of|per)\b", example):
                yield example, "example of a quantity"


# --- what a page shows ---------------------------------------------------------------------


class Reader(HTMLParser):
    """Collects what people read or hear of a page, and the tags around it; drawings apart."""

    HEARD = ("aria-label", "alt", "title", "placeholder", "data-label", "data-name")

    def __init__(self):
        super().__init__()
        self.texts = []
        self.tags = []
        self.drawn = []
        self._quiet = 0
        self._drawing = 0

    def handle_starttag(self, tag, attrs):
        """Note the tag and the texts in its attributes."""
        self._drawing += tag == "svg"
        if not self._drawing:
            self.tags.append(tag)
        self._quiet += tag in ("script", "style")
        named = dict(attrs)
        for name in self.HEARD:
            # Of a value the attribute is a name for programs.
            if named.get(name) and not (name == "data-name" and "data-values" not in named):
                self._into().append(named[name])

    def handle_endtag(self, tag):
        """Note that a part that nobody reads has ended."""
        self._quiet -= tag in ("script", "style")
        self._drawing -= tag == "svg"

    def handle_data(self, data):
        """Note a text."""
        if data.strip() and not self._quiet:
            self._into().append(data.strip())

    def _into(self):
        # Lines are broken where the words of a language need it, so that drawings differ.
        return self.drawn if self._drawing else self.texts


def read_page(markup):
    """Return the texts and the tags of a piece of a page, and the texts of its drawings."""
    reader = Reader()
    reader.feed(markup)
    reader.close()
    return reader.texts, reader.tags, reader.drawn


def shown(make_document):
    """Return everything that a document shows: form, answer, text, sheet."""
    document = make_document()
    calculator, result, system = answer(document)
    parts = {
        "form": html.form_html(calculator, document),
        "answer": html.result_html(calculator, result, system),
    }
    if calculator.id == field_sheet.WHOLE_FIELD:
        parts["sheet"] = field_sheet.sheet_of(document).html
    told = text.to_text(result, system, explain=True, cautions=calculator.cautions)
    return {name: read_page(part) for name, part in parts.items()}, told.splitlines()


def shown_in(code, make_document):
    """Return everything that a document shows in a language."""
    with use_language(code):
        return shown(make_document)


def documents_of(calculator):
    """Yield what to ask of a calculator: a name, and the document's maker."""
    for system in SYSTEMS:
        yield system, lambda system=system: default_document(calculator, system)
    for name in calculator.examples:
        yield name, lambda name=name: example_document(calculator, name)


def variations(calculator):
    """Yield documents with one value of a fresh form changed: each choice taken, others spoiled."""
    for system in SYSTEMS:
        fresh = default_document(calculator, system)
        for field in calculator.fields:
            spoiled = ("", "???", "-1")
            if field.kind == "choice":
                spoiled = tuple(choice.value for choice in field.choices)
            elif field.kind == "flag":
                spoiled = ("yes", "no")
            elif field.kind == "table":
                spoiled = ([],)
            for value in spoiled:
                document = copy.deepcopy(fresh)
                put(document, field.name, value)
                yield document


@contextmanager
def marked_language():
    """Speak a language `MARKED`, in which all that goes through `tr` is in brackets.

    But for texts that are read, which would be none any more. It is a language of its own,
    because sentences that are kept are kept by their language.
    """
    plain = texts_read() | {""}

    class Marked(dict):
        def get(self, english, default=None):
            return english if english in plain else f"{OPEN}{english}{SHUT}"

    known = words.translations
    words.translations = lambda code: Marked() if code == MARKED else known(code)
    token = words._language.set(MARKED)
    try:
        yield
    finally:
        words._language.reset(token)
        words.translations = known


#: Words of units, which every language writes alike.
_UNIT_WORDS = re.compile(
    r"\b(?:"
    + "|".join(
        re.escape(unit)
        for quantity in QUANTITIES.values()
        for unit in sorted((quantity.us, quantity.metric, *quantity.more), key=len, reverse=True)
        if unit[:1].isalpha()
    )
    + r")\b"
)
#: Codes of currencies, and of parts as an order names them.
_CODES = re.compile(r"\b[A-Z]{3}\b|\[[a-z0-9-]+\]")
#: What is in brackets, or was until a drawing cut it for want of room.
_INNER = re.compile(f"{OPEN}[^{OPEN}{SHUT}]*?(?:{SHUT}|…$)", re.MULTILINE)
_WORD = re.compile(r"[^\W\d_]{3,}")


def unmarked(shown_text):
    """Return what of a text stands outside all brackets."""
    before = None
    while before != shown_text:
        before, shown_text = shown_text, _INNER.sub("", shown_text)
    return shown_text


def words_outside(shown_text):
    """Return what stands outside all brackets, without units and codes."""
    return _CODES.sub("", _UNIT_WORDS.sub("", unmarked(shown_text)))


def not_looked_up(make_document):
    """Yield every text with words that did not go through `tr`."""
    with marked_language():
        parts, _ = shown(make_document)
    for part, (texts, _, drawn) in parts.items():
        # A drawing breaks its sentences into lines, so that the brackets stand in two of them.
        for found in (*texts, *unmarked("\n".join(drawn)).splitlines()):
            if _WORD.search(rest := words_outside(found)):
                yield f"{part}: {rest.strip()[:200]}"


def answers_not_looked_up(calculator):
    """Yield texts with words that did not go through `tr`, of answers and errors to variations."""
    found = set()
    with marked_language():
        for document in variations(calculator):
            try:
                _, result, system = answer(document)
            except EvenrowError as error:
                errors = getattr(error, "errors", (error,))
                found.update(each for e in errors for each in (e.message, e.accepted, e.hint))
            else:
                found.update(read_page(html.result_html(calculator, result, system))[0])
    for each in sorted(found):
        if _WORD.search(rest := words_outside(each)):
            yield rest.strip()[:200]


#: Looks the same in both: names of people and places in sources, units.
_NAMES = re.compile(r"[A-Z][\w.]+|\d\S*|[^\W\d_]{1,2}\b")


def _sentence(text_shown, words_least):
    """Return whether a text has so many words that a language of its own would have."""
    return len(_WORD.findall(_NAMES.sub("", text_shown))) >= words_least


def same_in_both(make_document, code):
    """Yield what is of another shape in the two languages, and sentences that are the same."""
    (english, lines), (other, other_lines) = (
        shown_in(each, make_document) for each in ("en", code)
    )
    for part, (texts, tags, drawn) in english.items():
        other_texts, other_tags, other_drawn = other[part]
        same = set(drawn) & set(other_drawn)
        if part == "sheet":
            # What has room on it differs.
            same |= set(texts) & set(other_texts)
            tags = texts = other_tags = other_texts = ()
        yield from (f"{part}: the same: {one[:200]}" for one in sorted(same) if _sentence(one, 2))
        if Counter(tags) != Counter(other_tags):
            yield f"{part}: not the same parts: {Counter(tags) - Counter(other_tags)}"
        if len(texts) != len(other_texts):
            yield f"{part}: {len(texts)} texts in English, {len(other_texts)} in {code}"
        for one, two in zip_longest(texts, other_texts, fillvalue=""):
            if one == two and _sentence(one, 2):
                yield f"{part}: the same: {one[:200]}"
    same = set(lines) & set(other_lines)
    for line in sorted(same):
        if _sentence(line, 3):
            yield f"terminal: the same: {line.strip()}"


def main(names):
    """Print what the named calculators lack, or all of them."""
    for code in OTHERS:
        table = translations(code)
        for found, where in declared(names).items():
            if found not in table:
                print(f"no {code}: {where}: {found!r}")
    for calculator in CALCULATORS.values():
        if names and calculator.id not in names:
            continue
        found = set()
        for _, make_document in documents_of(calculator):
            found |= {f"not through tr: {each}" for each in not_looked_up(make_document)}
            for code in OTHERS:
                found |= {f"{code}: {each}" for each in same_in_both(make_document, code)}
        for each in sorted(found):
            print(f"{calculator.id}: {each}")


if __name__ == "__main__":
    main(sys.argv[1:])
