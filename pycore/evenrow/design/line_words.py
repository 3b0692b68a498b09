"""The verdict on a line in plain sentences, in the user's units."""

from __future__ import annotations

from collections.abc import Callable

from evenrow.design.assembly import nearest_setting
from evenrow.design.line import SPACING_SLACK
from evenrow.design.planting import Candidate, Finding, LineChoice, Planting
from evenrow.units import UnitSystem, format_value

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
        return "The row bends, and tape is laid straight: it kinks and shuts where it is turned."

    def bursts(self, f: Finding) -> str:
        setting = nearest_setting(self.candidate.device.emitter.head_nominal, f.need)
        cure = f" A pressure regulator set to {self.pressure(setting)} cures it." if setting else ""
        return (
            f"It bears {self.pressure(f.need)} at most; {self.pressure(f.have)} is "
            f"{self.pressure(f.have - f.need)} too much and may burst it.{cure}"
        )

    def no_regulator(self, f: Finding) -> str:
        return (
            f"It bears {self.pressure(f.need)} at most, and no regulator in the catalogue is set "
            f"that low; {self.pressure(f.have)} is {self.pressure(f.have - f.need)} too much."
        )

    def starves(self, f: Finding) -> str:
        return (
            f"It needs {self.pressure(f.need)} at least; {self.pressure(f.have)} is "
            f"{self.pressure(f.need - f.have)} short."
        )

    def gaps(self, f: Finding) -> str:
        return (
            f"Wetted patterns would not meet: on {self.planting.soil.label} one is "
            f"{self.spacing(f.need)} wide, and the closest emitters it is sold with stand "
            f"{sold_words(f.have, self.system)} apart."
        )

    def just_meet(self, f: Finding) -> str:
        return (
            f"Wetted patterns barely meet: on {self.planting.soil.label} they should be "
            f"{self.spacing(f.need)} apart or less, and the closest it is sold with is "
            f"{sold_words(f.have, self.system)}."
        )

    def runs_off(self, f: Finding) -> str:
        return (
            f"It would water its strip at {rate_words(f.have, self.system)}; "
            f"{self.planting.soil.label} takes in {rate_words(f.need, self.system)} at most, "
            "and the rest runs off."
        )

    def puddles(self, f: Finding) -> str:
        return (
            f"It waters its strip at {rate_words(f.have, self.system)}, close to the most that "
            f"{self.planting.soil.label} takes in ({rate_words(f.need, self.system)}): water may "
            "stand. Give it in several short turns."
        )

    def dry_ground(self, f: Finding) -> str:
        lines = self.candidate.wetting.lines
        what = "the root zone" if self.planting.bed_width is None else "the bed"
        return (
            f"Even {lines} lines wet only {_share(f.have)} of {what}; {_share(f.need)} is wanted."
        )

    def thin(self, f: Finding) -> str:
        have, need = (format_value(v, "thickness", self.system, 2) for v in (f.have, f.need))
        return (
            f"Its wall of {have} is made for a season; a line that stays for years wants {need} "
            "or more."
        )

    def overdriven(self, f: Finding) -> str:
        emitter = self.candidate.device.emitter
        times = self.candidate.flow / emitter.flow_nominal
        return (
            f"It is made for {self.pressure(f.need)}; at {self.pressure(f.have)} each emitter "
            f"gives {times:.2g} times what it is sold as."
        )

    def only_middle(self, f: Finding) -> str:
        return (
            f"From a header at the end it runs {self.length(f.have)}, and your longest row is "
            f"{self.length(f.need)}: lay the header across the middle of the rows."
        )

    def too_long(self, f: Finding) -> str:
        return (
            f"It runs {self.length(f.have)} at most, even with the header across the middle; your "
            f"longest row is {self.length(f.need)}, {self.length(f.need - f.have)} too long."
        )

    def of(self, finding: Finding) -> str:
        sentence: Callable[[Finding], str] = getattr(self, finding.name.replace(" ", "_"))
        return sentence(finding)

    def praise(self) -> str:
        """Say what speaks for it."""
        wet = self.candidate.wetting
        what = "the root zone" if self.planting.bed_width is None else "the bed"
        lines = "one line wets" if wet.lines == 1 else f"{wet.lines} lines wet"
        sentences = [
            f"In {self.planting.soil.label} each emitter wets about {self.spacing(wet.width)} "
            f"across; {lines} {_share(wet.share)} of {what}."
        ]
        if self.candidate.place == "end" and self.candidate.longest_end is not None:
            sentences.append(
                f"At {self.pressure(self.candidate.head)} this line runs "
                f"{self.length(self.candidate.longest_end)}; your longest row is "
                f"{self.length(self.planting.row_length)}."
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
        "bursts": "fit a pressure regulator",
        "no regulator": "use a low tank, or another line",
        "starves": "raise the tank, or find more pressure",
        "too long": "split the rows with one more header",
        "gaps": "plant closer to the emitters, or mix compost into the soil",
        "runs off": "loosen the soil, or use a line of lower flow",
        "bends": "lay the row straight",
    }
    return "; ".join(text for name, text in changes.items() if name in names)


def summary(choice: LineChoice, system: UnitSystem) -> str:
    """Return the whole choice in one or two sentences."""
    best, planting = choice.best, choice.planting
    if best is None:
        return (
            f"Every line is ruled out; why stands beside each. Nearest to fit: "
            f"{choice.candidates[0].device.label}. What to try: {_nearest_change(choice)}."
        )
    words = _Words(best, planting, system)
    sentences = [f"Best: {best.device.label}.", words.praise()]
    return " ".join([*sentences, *(words.of(f) for f in best.reservations)])


def laying_steps(choice: LineChoice, system: UnitSystem, *, buried: bool) -> tuple[str, ...]:
    """Return how to lay the chosen line, in order; empty if there is none.

    Facts of the trade: common practice, no source.
    """
    best, planting = choice.best, choice.planting
    if best is None:
        return ()
    lines, tape = best.wetting.lines, best.device.kind == "tape"
    off = "2 to 3\N{NO-BREAK SPACE}in" if system == "us" else "5 to 8\N{NO-BREAK SPACE}cm"
    if planting.bed_width is None:
        where = {
            1: f"one line, {off} off the plants",
            2: f"one line on each side of the plants, {off} off young ones",
        }.get(
            lines,
            f"{lines} lines evenly over {format_value(planting.root_width, 'length', system, 2)} "
            f"of ground along the row, none nearer than {off} to a stem",
        )
    else:
        apart = format_value(planting.bed_width / lines, "spacing", system, 2)
        edge = format_value(planting.bed_width / lines / 2, "spacing", system, 2)
        where = (
            "one line along the middle of the bed"
            if lines == 1
            else (f"{lines} lines, {apart} apart, the outer ones {edge} from the edge of the bed")
        )
        where += f"; set plants {off} from a line"
    depth = "1 to 2\N{NO-BREAK SPACE}in" if system == "us" else "3 to 5\N{NO-BREAK SPACE}cm"
    steps = [
        f"Mark where the lines go: {where}.",
        "Roll the line off its coil, do not pull it off in loops: twists shut it.",
        "Lay it with the emitters up, so that dirt settles away from them.",
        "Tape lies straight, without a bend or a kink."
        if tape
        else "Dripline may follow a bend, but no tighter than a bucket's rim, or it kinks.",
        f"Bury it {depth} deep before planting; mark it, so that no tool cuts it."
        if buried
        else "Peg it down at both ends and every few steps; leave it a little slack, because it "
        "shrinks when cold water comes.",
        "Run the water with the ends open until it is clear, then close them.",
        "After the first watering dig down beside the line: wet soil should reach the roots and "
        "meet from one emitter to the next. If it does not, trust the soil and not this table.",
    ]
    return tuple(steps)
