"""The look-up pages as HTML: the run-length table, and the pocket card to print and fold.

Both show the same numbers of `evenrow.calculators.run_table`. The table is the only copy of
them on its page: style sheets filter it, and the page's script reads it.
"""

from __future__ import annotations

from evenrow.calculators.html_form import escaped
from evenrow.calculators.run_length import limit_words
from evenrow.calculators.run_table import (
    LIMITS,
    MOST_SHOWN,
    SLOPES,
    TARGET,
    TARGETS,
    Pressure,
    RunTable,
    run_tables,
    shown_length,
    spacing_label,
    water_temperature,
)
from evenrow.numerals import UNIT_SPACE
from evenrow.units import format_value, parse
from evenrow.words import said, tr

#: Stands behind a length that something other than uniformity stops.
MARKS = {"eu": "", "head_min": "L", "head_max": "H"}
#: Slopes on the card: what is seen by eye, and what a tape measure and a level show.
CARD_SLOPES = ("-2 %", "-1 %", "0 %", "1 %", "2 %")
#: Spacings on the card, those sold that are nearest to these, in this order. [m]
CARD_SPACINGS = (0.30, 0.20)
_ALL = "all"
#: What the card leaves room for.
OWN_LINES = (
    said("my line"),
    said("its inside diameter"),
    said("emitter flow, and at what pressure"),
    said("emitters every"),
    said("my slope"),
    said("my pressure"),
    said("longest run, from the calculator"),
)


def slope_words(slope: str) -> str:
    """Return a slope as people say it: ``falls 1 %``, ``level``, ``climbs 1 %``."""
    value = parse(slope, "slope")
    if value == 0.0:
        return tr("level")
    number = slope.lstrip("-").replace(" ", UNIT_SPACE)
    return tr("falls {slope}" if value < 0.0 else "climbs {slope}", slope=number)


def _temperature() -> str:
    value = parse(water_temperature(), "temperature")
    return _either(*(format_value(value, "temperature", s) for s in ("metric", "us")))


def _either(one: str, other: str) -> str:
    return tr("{one} or {other}", one=one, other=other)


def _lengths(table: RunTable, place: tuple[int, int, int, int]) -> str:
    """Return the length of one cell in feet and in metres; a style sheet shows one of them."""
    length = float(table.length[place])
    return f"<b>{shown_length(length, 'us')}</b><i>{shown_length(length, 'metric')}</i>"


def _cell(table: RunTable, place: tuple[int, int, int, int]) -> str:
    mark = MARKS.get(str(table.limit[place]), "")
    mark = f"<sup>{mark}</sup>" if mark else ""
    return f"<td>{_lengths(table, place)}{mark}</td>"


def _pressure_words(pressure: Pressure) -> str:
    if pressure.rated:
        return tr("{pressure}, the rated pressure", pressure=pressure.label)
    return pressure.label


def _at_pressure(table: RunTable, index: int) -> str:
    """Return the fold of one pressure: spacings down, slopes across, a group for each target."""
    pressure = table.pressures[index]
    slopes = "".join(
        f'<th scope="col" data-slope="{slope}">{slope_words(slope)}</th>' for slope in SLOPES
    )
    groups = []
    for t, target in enumerate(TARGETS):
        rows = "".join(
            f'<tr><th scope="row" data-spacing="{spacing}">{spacing_label(spacing)}</th>'
            + "".join(_cell(table, (s, g, index, t)) for g in range(len(SLOPES)))
            + "</tr>"
            for s, spacing in enumerate(table.spacings)
        )
        words = target.replace(" ", UNIT_SPACE)
        groups.append(
            f'<tbody data-eu="{target}"><tr><th scope="rowgroup" colspan="{len(SLOPES) + 1}">'
            f"{tr('uniformity {share}', share=words)}</th></tr>{rows}</tbody>"
        )
    words = _pressure_words(pressure)
    line = escaped(tr(table.device.label))
    caption = tr(
        "Longest run of {line} at {pressure}, by emitter spacing and slope along the row",
        line=line,
        pressure=words,
    )
    return (
        f'<details class="er-group er-at" data-pressure="{pressure.text}" '
        f'data-words="{pressure.label}"{" data-rated open" if pressure.rated else ""}>'
        f"<summary>{words}</summary>"
        '<div class="er-run-scroll" tabindex="0" role="region" '
        f'aria-label="{line}, {words}"><table class="er-run">'
        f'<caption class="er-unseen">{caption}</caption>'
        f'<thead><tr><th scope="col">{tr("emitters every")}</th>{slopes}</tr></thead>'
        f"{''.join(groups)}</table></div></details>"
    )


def _kind(table: RunTable) -> str:
    device, emitter = table.device, table.device.emitter
    least, most = (
        _either(*(format_value(head, "pressure", s, 2) for s in ("us", "metric")))
        for head in (emitter.head_min, emitter.head_max)
    )
    folds = "".join(_at_pressure(table, index) for index in range(len(table.pressures)))
    label = escaped(tr(device.label))
    made_for = tr(
        "Made for {least} to {most}. Manufacturing variation {cv}; each emitter's body takes "
        "{heads:.3g} velocity heads of the line.",
        least=least,
        most=most,
        cv=format_value(emitter.cv, "share", "us"),
        heads=device.body_k,
    )
    return (
        f'<section class="er-kind" data-device="{escaped(device.code)}" data-words="{label}" '
        f'aria-labelledby="er-kind-{escaped(device.code)}">'
        f'<h2 id="er-kind-{escaped(device.code)}" data-search-exclude>{label}</h2>'
        f"<p>{made_for}</p>{folds}</section>"
    )


def _radio(name: str, value: str, words: str, checked: bool = False) -> str:
    ident = f"{name}-{value.replace(' ', '').replace('%', '')}"
    return (
        f'<label class="er-option"><input type="radio" name="{name}" id="{escaped(ident)}" '
        f'value="{escaped(value)}"{" checked" if checked else ""}><span>{escaped(words)}</span>'
        "</label>"
    )


def _pick(pick: str, title: str, radios: str, is_open: bool) -> str:
    return (
        f'<details class="er-group er-pick" data-pick="{pick}"{" open" if is_open else ""}>'
        f'<summary><span class="er-pick-title">{title}</span> <strong></strong></summary>'
        f'<fieldset aria-label="{title}"><div class="er-options">{radios}'
        "</div></fieldset></details>"
    )


def _filters(tables: tuple[RunTable, ...]) -> str:
    """Return the style rules by which a chosen kind and target hide the others."""
    rules = [
        f".er-look:has(#er-d-{table.device.code}:checked) "
        f'.er-kind:not([data-device="{table.device.code}"])'
        for table in tables
    ]
    rules += [
        f'.er-look:has(#er-t-{target.split()[0]}:checked) .er-run tbody:not([data-eu="{target}"])'
        for target in TARGETS
    ]
    return f"<style>{','.join(rules)}{{display:none}}</style>"


def _units() -> str:
    parts = "".join(
        f'<label class="er-switch-part"><input type="radio" name="er-units" value="{value}"'
        f"{' checked' if value == 'metric' else ''}><span>{words}</span></label>"
        for value, words in (("us", tr("feet")), ("metric", tr("metres")))
    )
    cannot = tr("This browser cannot switch: feet stand first, metres below.")
    return (
        f'<div class="er-switch" role="radiogroup" aria-label="{tr("Lengths in")}">{parts}</div>'
        f'<p class="er-both">{cannot}</p>'
    )


def _key() -> str:
    words = {
        "eu": tr("Without a letter this stops it: {limit}", limit=limit_words("eu")),
        "head_min": limit_words("head_min"),
        "head_max": tr(
            "{limit}, at the low end with the water standing still",
            limit=limit_words("head_max"),
        ),
    }
    parts = "; ".join(
        f'<span data-mark="{MARKS[limit]}" data-words="{limit_words(limit)}">'
        f"{f'<b>{MARKS[limit]}</b>: ' if MARKS[limit] else ''}{words[limit]}</span>"
        for limit in LIMITS
    )
    over = tr(
        "{over}: longer than {us} ft or {metric} m.",
        over=f"<b>{tr('over')}</b>",
        us=MOST_SHOWN["us"],
        metric=MOST_SHOWN["metric"],
    )
    none = tr("{none}: not even one emitter keeps it.", none=f"<b>{tr('none')}</b>")
    return (
        f'<p class="er-key">{tr("The longest run of one line, away from the header.")} {parts}. '
        f"{over} {none}</p>"
    )


def assumptions() -> str:
    """Return what every number takes for granted, as a list."""
    items = (
        tr(
            "Solved emitter by emitter, each at its own pressure; the longest run, counted from "
            "nothing upwards without a gap, that keeps the uniformity wanted and the pressure "
            "range of the line, running or standing still."
        ),
        tr("Rounded down: to whole feet, or to half metres. Never up."),
        tr(
            "One slope along the whole row. The first emitter half a spacing from the header, the "
            "last half a spacing from the end."
        ),
        tr(
            "A smooth pipe without joins, water of {temperature}, new and clean emitters.",
            temperature=_temperature(),
        ),
        tr(
            "Generic lines: their figures are typical of their kind, invented for demonstration. "
            "Put those of your own line’s data sheet into the run-length calculator before you buy."
        ),
        tr(
            "Uniformity: Keller and Karmeli (1974), Trans. ASAE 17(4), "
            "EU = 100 (1 − 1.27 CV/√n) qmin/qavg with n = 1. Friction: Darcy–Weisbach with the "
            "friction factor of Churchill (1977)."
        ),
    )
    return f'<ul class="er-assumed">{"".join(f"<li>{item}</li>" for item in items)}</ul>'


def look_up_html(exact: str) -> str:
    """Return the look-up: choices, the place of the number, and the whole table.

    Parameters
    ----------
    exact : str
        Link from this page to the run-length calculator.

    Returns
    -------
    str
        HTML that filters itself by style alone; what needs the page's script is hidden until
        that shows it.
    """
    tables = run_tables()
    kinds = [(table.device.code, tr(table.device.label)) for table in tables]
    devices = "".join(_radio("er-d", code, label) for code, label in kinds)
    devices += _radio("er-d", _ALL, tr("all of them: the whole table"), checked=True)
    targets = "".join(_radio("er-t", t, t, checked=t == TARGET) for t in TARGETS)
    targets += _radio("er-t", _ALL, tr("all"))
    longest = tr("Longest run")
    answer = (
        f'<section class="er-look-answer er-js" aria-label="{longest}" hidden>'
        f'<div aria-live="polite" aria-atomic="true"><p class="er-look-label">{longest}</p>'
        '<p class="er-look-value"></p><p class="er-look-limit"></p></div>'
        f'<p><a class="er-look-exact" href="{escaped(exact)}">'
        f"{tr('Exact for my numbers')}</a></p>"
        "</section>"
    )
    return (
        f'{_filters(tables)}<div class="er-look"><div class="er-look-tool" data-search-exclude>'
        f'<div class="er-look-units">{_units()}</div>'
        f"{_pick('device', tr('Tape or dripline'), devices, True)}{answer}"
        f"{_pick('eu', tr('Uniformity wanted'), targets, False)}</div>"
        f'<div class="er-look-table" data-search-exclude>{_key()}'
        f"{''.join(_kind(table) for table in tables)}</div>"
        f'<h2 id="assumed">{tr("What is assumed")}</h2>{assumptions()}</div>'
    )


def _card_rows(table: RunTable) -> str:
    spacings = [parse(text, "spacing") for text in table.spacings]
    chosen: list[int] = []
    for wanted in CARD_SPACINGS:
        left = [place for place in range(len(spacings)) if place not in chosen]
        if left:
            chosen.append(min(left, key=lambda place: abs(spacings[place] - wanted)))
    rated = next(i for i, pressure in enumerate(table.pressures) if pressure.rated)
    target = TARGETS.index(TARGET)
    rows = "".join(
        f'<tr><th scope="row" data-spacing="{table.spacings[s]}">'
        f"{spacing_label(table.spacings[s])}</th>"
        + "".join(
            f"<td>{_lengths(table, (s, SLOPES.index(slope), rated, target))}</td>"
            for slope in CARD_SLOPES
        )
        + "</tr>"
        for s in sorted(chosen)
    )
    return (
        f'<tbody data-device="{escaped(table.device.code)}"><tr><th scope="rowgroup" '
        f'colspan="{len(CARD_SLOPES) + 1}">{escaped(tr(table.device.label))} '
        f"<small>{tr('at {pressure}', pressure=table.pressures[rated].label)}</small></th></tr>"
        f"{rows}</tbody>"
    )


def _card_half(tables: tuple[RunTable, ...]) -> str:
    head = "".join(f'<th scope="col">{slope_words(slope)}</th>' for slope in CARD_SLOPES)
    body = "".join(_card_rows(table) for table in tables)
    return (
        '<div class="er-run-scroll" tabindex="0" role="region" '
        f'aria-label="{tr("Longest runs")}"><table class="er-run"><caption class="er-unseen">'
        f"{tr('Longest run by line, emitter spacing and slope')}</caption>"
        f'<thead><tr><th scope="col">{tr("emitters every")}</th>{head}</tr></thead>'
        f"{body}</table></div>"
    )


def card_html() -> str:
    """Return the pocket card: one sheet to print across, fold once in the middle and once more."""
    tables = run_tables()
    middle = (len(tables) + 1) // 2
    own = "".join(f"<div><dt>{tr(words)}</dt><dd></dd></div>" for words in OWN_LINES)
    small_print = tr(
        "From the header to the far end, with an emission uniformity of {target}, the pressure "
        "beside each line at its start, and nothing outside the line’s pressure range. One slope "
        "all the way: climbs {slope} is 1 ft in 100 ft. Water {temperature}, smooth pipe, clean "
        "new emitters, the first half a spacing from the header. Rounded down. “over”: longer "
        "than {us} ft or {metric} m. Uniformity: Keller and Karmeli (1974). Friction: "
        "Darcy–Weisbach, Churchill (1977).",
        target=TARGET.replace(" ", UNIT_SPACE),
        slope=f"1{UNIT_SPACE}%",
        temperature=_temperature(),
        us=MOST_SHOWN["us"],
        metric=MOST_SHOWN["metric"],
    )
    return (
        f'<div class="er-card-units er-look">{_units()}</div>'
        '<div class="er-pocket er-look" data-search-exclude><div class="er-half">'
        f'<p class="er-pocket-title"><strong>{tr("How long may one line be?")}</strong> – '
        f'<b class="er-unit-word">{tr("in feet")}</b>'
        f'<i class="er-unit-word">{tr("in metres")}</i></p>'
        f"{_card_half(tables[:middle])}"
        f'<p>{small_print}</p></div><div class="er-half">'
        f"{_card_half(tables[middle:])}"
        '<p class="er-own-title">'
        f"<strong>{tr('Generic lines, invented figures: put your own.')}</strong> "
        f'{tr("Your data sheet decides.")}</p><dl class="er-own">{own}</dl>'
        "</div></div>"
    )
