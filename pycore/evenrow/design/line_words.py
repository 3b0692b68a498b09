"""The verdict on a line in plain sentences, in the user's units."""

from __future__ import annotations

from collections.abc import Callable

from evenrow.design.apart import apart
from evenrow.design.assembly import nearest_setting
from evenrow.design.line import SPACING_SLACK
from evenrow.design.planting import Candidate, Finding, LineChoice, Planting
from evenrow.units import UnitSystem, format_value
from evenrow.words import said, tr, tr_count

_INCH = 0.0254
_MM_PER_HOUR = 3.6e6
_INCHES_PER_HOUR = _MM_PER_HOUR / 25.4


def rate_words(rate: float, system: UnitSystem) -> str:
    """Return a watering rate [m/s] as a depth in an hour: ``"0.2 in/h"`` or ``"5 mm/h"``."""
    if system == "us":
        return f"{rate * _INCHES_PER_HOUR:.2g}\N{NO-BREAK SPACE}in/h"
    return f"{rate * _MM_PER_HOUR:.2g}\N{NO-BREAK SPACE}mm/h"


def sold_words(spacing: float, system: UnitSystem) -> str:
    """Return an emitter spacing [m] as it is sold: 20 cm goes by 8 in where inches are used."""
    inches = round(spacing / _INCH)
    if system == "us" and abs(inches * _INCH - spacing) <= SPACING_SLACK * spacing:
        return f"{inches}\N{NO-BREAK SPACE}in"
    return format_value(spacing, "spacing", system, 2)


def _share(value: float) -> str:
    return f"{value * 100:.0f}\N{NO-BREAK SPACE}%"


class _Words:
    """Sentences for one line, in one system of units."""

    def __init__(self, candidate: Candidate, planting: Planting, system: UnitSystem) -> None:
        self.candidate, self.planting, self.system = candidate, planting, system

    def spacing(self, value: float) -> str:
        return format_value(value, "spacing", self.system, 2)

    def length(self, value: float) -> str:
        return format_value(value, "length", self.system, 3)

    def pressure(self, value: float) -> str:
        return format_value(value, "pressure", self.system, 2)

    def bends(self, _: Finding) -> str:
        return tr(
            "The row bends, and tape is laid straight: it kinks and shuts where it is turned."
        )

    def bursts(self, f: Finding) -> str:
        have, need = apart(f.have, f.need, "pressure", self.system, 2)
        setting = nearest_setting(self.candidate.device.emitter.head_nominal, f.need)
        bursts = tr(
            "It bears {need} at most; {have} is {excess} too much and may burst it.",
            need=need,
            have=have,
            excess=self.pressure(f.have - f.need),
        )
        if not setting:
            return bursts
        cure = tr("A pressure regulator set to {need} cures it.", need=self.pressure(setting))
        return f"{bursts} {cure}"

    def no_regulator(self, f: Finding) -> str:
        have, need = apart(f.have, f.need, "pressure", self.system, 2)
        return tr(
            "It bears {need} at most, and no regulator in the catalogue is set "
            "that low; {have} is {excess} too much.",
            need=need,
            have=have,
            excess=self.pressure(f.have - f.need),
        )

    def starves(self, f: Finding) -> str:
        have, need = apart(f.have, f.need, "pressure", self.system, 2)
        return tr(
            "It needs {need} at least; {have} is {excess} short.",
            need=need,
            have=have,
            excess=self.pressure(f.need - f.have),
        )

    def gaps(self, f: Finding) -> str:
        return tr(
            "Wetted patterns would not meet: on {soil} one is {spacing} wide, and "
            "the closest emitters it is sold with stand {sold} apart.",
            soil=tr(self.planting.soil.label),
            spacing=self.spacing(f.need),
            sold=sold_words(f.have, self.system),
        )

    def just_meet(self, f: Finding) -> str:
        return tr(
            "Wetted patterns barely meet: on {soil} they should be {spacing} "
            "apart or less, and the closest it is sold with is {sold}.",
            soil=tr(self.planting.soil.label),
            spacing=self.spacing(f.need),
            sold=sold_words(f.have, self.system),
        )

    def runs_off(self, f: Finding) -> str:
        return tr(
            "It would water its strip at {rate}; {soil} takes in "
            "{most} at most, and the rest runs off.",
            rate=rate_words(f.have, self.system),
            soil=tr(self.planting.soil.label),
            most=rate_words(f.need, self.system),
        )

    def puddles(self, f: Finding) -> str:
        return tr(
            "It waters its strip at {rate}, close to the most that {soil} "
            "takes in ({most}): water may stand. Give it in several short "
            "turns.",
            rate=rate_words(f.have, self.system),
            soil=tr(self.planting.soil.label),
            most=rate_words(f.need, self.system),
        )

    def dry_ground(self, f: Finding) -> str:
        lines = self.candidate.wetting.lines
        return tr(
            "Even {lines} lines wet only {have} of the root zone; {need} is wanted."
            if self.planting.bed_width is None
            else "Even {lines} lines wet only {have} of the bed; {need} is wanted.",
            lines=lines,
            have=_share(f.have),
            need=_share(f.need),
        )

    def thin(self, f: Finding) -> str:
        have, need = (format_value(v, "thickness", self.system, 2) for v in (f.have, f.need))
        return tr(
            "Its wall of {have} is made for a season; a line that stays for years "
            "wants {need} or more.",
            have=have,
            need=need,
        )

    def overdriven(self, f: Finding) -> str:
        emitter = self.candidate.device.emitter
        times = self.candidate.flow / emitter.flow_nominal
        return tr(
            "It is made for {need}; at {have} each emitter gives "
            "{times:.2g} times what it is sold as.",
            need=self.pressure(f.need),
            have=self.pressure(f.have),
            times=times,
        )

    def only_middle(self, f: Finding) -> str:
        return tr(
            "From a header at the end it runs {run}, and your longest row is "
            "{longest}: lay the header across the middle of the rows.",
            run=self.length(f.have),
            longest=self.length(f.need),
        )

    def too_long(self, f: Finding) -> str:
        return tr(
            "It runs {run} at most, even with the header across the middle; "
            "your longest row is {longest}, {excess} too long.",
            run=self.length(f.have),
            longest=self.length(f.need),
            excess=self.length(f.need - f.have),
        )

    def of(self, finding: Finding) -> str:
        sentence: Callable[[Finding], str] = getattr(self, finding.name.replace(" ", "_"))
        return sentence(finding)

    def praise(self) -> str:
        """Say what speaks for it."""
        wet = self.candidate.wetting
        if self.planting.bed_width is None:
            one = said(
                "In {soil} each emitter wets about {width} across; one line wets {share} of the "
                "root zone."
            )
            many = said(
                "In {soil} each emitter wets about {width} across; {count} lines wet {share} of "
                "the root zone."
            )
        else:
            one = said(
                "In {soil} each emitter wets about {width} across; one line wets {share} of the "
                "bed."
            )
            many = said(
                "In {soil} each emitter wets about {width} across; {count} lines wet {share} of "
                "the bed."
            )
        sentences = [
            tr_count(
                wet.lines,
                one,
                many,
                soil=tr(self.planting.soil.label),
                width=self.spacing(wet.width),
                share=_share(wet.share),
            )
        ]
        if self.candidate.place == "end" and self.candidate.longest_end is not None:
            sentences.append(
                tr(
                    "At {need} this line runs {run}; your longest row is {longest}.",
                    need=self.pressure(self.candidate.head),
                    run=self.length(self.candidate.longest_end),
                    longest=self.length(self.planting.row_length),
                )
            )
        return " ".join(sentences)


def reasons(candidate: Candidate, planting: Planting, system: UnitSystem) -> str:
    """Return why a line is ruled out and by how much, or what to mind with it; "" for nothing."""
    words = _Words(candidate, planting, system)
    return " ".join(words.of(f) for f in candidate.refusals or candidate.reservations)


def _nearest_change(choice: LineChoice) -> str:
    """Return what would make the line that is refused for least fit."""
    least = choice.candidates[0]
    names = {finding.name for finding in least.refusals}
    changes = {
        "bursts": tr("fit a pressure regulator"),
        "no regulator": tr("use a low tank, or another line"),
        "starves": tr("raise the tank, or find more pressure"),
        "too long": tr("split the rows with one more header"),
        "gaps": tr("plant closer to the emitters, or mix compost into the soil"),
        "runs off": tr("loosen the soil, or use a line of lower flow"),
        "bends": tr("lay the row straight"),
    }
    return "; ".join(text for name, text in changes.items() if name in names)


def summary(choice: LineChoice, system: UnitSystem) -> str:
    """Return the whole choice in one or two sentences."""
    best, planting = choice.best, choice.planting
    if best is None:
        return tr(
            "Every line is ruled out; why stands beside each. Nearest to fit: "
            "{line}. What to try: {nearest_change}.",
            line=tr(choice.candidates[0].device.label),
            nearest_change=_nearest_change(choice),
        )
    words = _Words(best, planting, system)
    sentences = [tr("Best: {line}.", line=tr(best.device.label)), words.praise()]
    return " ".join([*sentences, *(words.of(f) for f in best.reservations)])


def laying_steps(choice: LineChoice, system: UnitSystem, *, buried: bool) -> tuple[str, ...]:
    """Return how to lay the chosen line, in order; empty if there is none.

    Facts of the trade: common practice, no source.
    """
    best, planting = choice.best, choice.planting
    if best is None:
        return ()
    lines, tape = best.wetting.lines, best.device.kind == "tape"
    off = tr("2 to 3\N{NO-BREAK SPACE}in") if system == "us" else tr("5 to 8\N{NO-BREAK SPACE}cm")
    if planting.bed_width is None:
        where = {
            1: tr("one line, {off} off the plants", off=off),
            2: tr("one line on each side of the plants, {off} off young ones", off=off),
        }.get(
            lines,
            tr(
                "{lines} lines evenly over {root_width} of ground along the row, none "
                "nearer than {off} to a stem",
                lines=lines,
                root_width=format_value(planting.root_width, "length", system, 2),
                off=off,
            ),
        )
    else:
        apart = format_value(planting.bed_width / lines, "spacing", system, 2)
        edge = format_value(planting.bed_width / lines / 2, "spacing", system, 2)
        where = (
            tr("one line along the middle of the bed")
            if lines == 1
            else (
                tr(
                    "{lines} lines, {apart} apart, the outer ones {edge} from the edge of the bed",
                    lines=lines,
                    apart=apart,
                    edge=edge,
                )
            )
        )
        where = tr("{where}; set plants {off} from a line", where=where, off=off)
    depth = tr("1 to 2\N{NO-BREAK SPACE}in") if system == "us" else tr("3 to 5\N{NO-BREAK SPACE}cm")
    steps = [
        tr("Mark where the lines go: {where}.", where=where),
        tr("Roll the line off its coil, do not pull it off in loops: twists shut it."),
        tr("Lay it with the emitters up, so that dirt settles away from them."),
        tr("Tape lies straight, without a bend or a kink.")
        if tape
        else tr("Dripline may follow a bend, but no tighter than a bucket's rim, or it kinks."),
        tr("Bury it {depth} deep before planting; mark it, so that no tool cuts it.", depth=depth)
        if buried
        else tr(
            "Peg it down at both ends and every few steps; leave it a little slack, "
            "because it shrinks when cold water comes."
        ),
        tr("Run the water with the ends open until it is clear, then close them."),
        tr(
            "After the first watering dig down beside the line: wet soil should reach "
            "the roots and meet from one emitter to the next. If it does not, trust "
            "the soil and not this table."
        ),
    ]
    return tuple(steps)
