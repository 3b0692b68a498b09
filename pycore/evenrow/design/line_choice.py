"""Which tape or dripline suits a crop, its soil and its bed: how many lines, which emitters."""

from __future__ import annotations

from collections.abc import Iterable
from math import ceil

from evenrow.agronomy import wetting
from evenrow.catalogue import Device, devices
from evenrow.catalogue.growing import Soil
from evenrow.design.assembly import nearest_setting
from evenrow.design.line import EMITTERS_MAX, FIRST_EMITTER, SPACING_SLACK
from evenrow.design.planting import Candidate, Finding, LineChoice, Planting, Wetting
from evenrow.errors import InputError
from evenrow.hydraulics.run_length import RunLimits, longest_run
from evenrow.words import tr

#: Most lines on one bed or row.  Common practice, no source.
LINES_MAX = 4
#: From this width of root zone on a row gets a line on each side: about three feet.  Common
#: practice, no source. [m]
BOTH_SIDES = 0.9
#: Widest emitter spacing among close plants: 18 in.  Common practice, no source. [m]
CLOSE_SPACING = 0.4572
#: Thinnest wall that is trusted for years: 15 mil.  Common practice, no source. [m]
LASTING_WALL = 0.000381
#: Emitter flow beyond this many times the rated one is no fair use.  Common practice, no source.
OVERDRIVEN = 1.3
#: Lines on a bed lie no farther apart than 24 in, in heavy soil too: course on micro-irrigation of
#: raised beds (coarse soil 12 to 15 in, fine soil up to 24 in). [m]
LINES_APART = 0.6096
#: Part of the soil's highest intake rate from which water may stand.  Common practice, no source.
STANDING = 0.8
#: Longest run that is looked for. [m]
LONGEST = 1500.0


def wetted_width(soil: Soil, depth: float, flow: float) -> float:
    """Return the diameter [m] that an emitter wets by the time water is `depth` [m] down.

    The formula of Schwartzman and Zur, but no more than the handbook's figure for a 1 gal/h
    emitter, which is about the largest flow that lines are sold with.

    Parameters
    ----------
    soil : Soil
        Texture class.
    depth, flow : float
        Depth of the roots [m] and flow of the emitter [m3/s], both more than 0.

    Raises
    ------
    InputError
        If depth or flow is not positive.
    """
    formula = float(wetting.width_at_depth(depth, soil.conductivity, flow))
    return min(formula, float(wetting.tabled_width(soil.texture, depth)))


def _spacing(device: Device, width: float, plants: float) -> tuple[float, Finding | None, bool]:
    """Return the spacing to take, what is wrong with it, and whether that rules it out."""
    meeting = float(wetting.widest_spacing(width))
    limit = min(meeting, max(CLOSE_SPACING, plants / 2))
    fitting = [s for s in device.spacings if s <= limit * (1 + SPACING_SLACK)]
    if fitting:
        return max(fitting), None, False
    closest = device.spacings[0]
    if closest <= width:
        return closest, Finding(name="just meet", have=closest, need=meeting), False
    # A plant that stands off from its neighbours lives from its own emitters, at least two
    # (National Engineering Handbook, section 15, chapter 7, from memory): gaps are no harm there.
    apart = 2 * closest <= plants * (1 + SPACING_SLACK)
    return closest, Finding(name="gaps", have=closest, need=width), not apart


def _lines(planting: Planting, strip: float) -> int:
    wanted = ceil(planting.wanted * planting.target / strip - 1e-9)
    if planting.bed_width is None and planting.root_width >= BOTH_SIDES:
        wanted = max(wanted, 2)
    if planting.bed_width is not None:
        wanted = max(wanted, ceil(planting.bed_width / LINES_APART - 1e-9))
    return max(1, min(wanted, LINES_MAX))


def _head(device: Device, planting: Planting) -> tuple[float, Finding | None]:
    """Return the head at which the line runs, and what is wrong with the pressure at hand."""
    emitter, head = device.emitter, planting.head
    if planting.regulated and head > emitter.head_nominal:
        setting = nearest_setting(emitter.head_nominal, min(emitter.head_max, head))
        if setting is None and head > emitter.head_max:
            nothing = Finding(name="no regulator", have=head, need=emitter.head_max)
            return emitter.head_nominal, nothing
        head = head if setting is None else setting
    if head > emitter.head_max:
        return emitter.head_nominal, Finding(name="bursts", have=head, need=emitter.head_max)
    if head < emitter.head_min:
        return emitter.head_nominal, Finding(name="starves", have=head, need=emitter.head_min)
    return head, None


def _run(device: Device, spacing: float, head: float, slope: float, planting: Planting) -> float:
    emitter = device.emitter
    found = longest_run(
        emitter,
        spacing,
        device.diameter,
        head,
        slope=slope,
        limits=RunLimits(eu=planting.eu, head_max=emitter.head_max, head_min=emitter.head_min),
        maximum_length=min(LONGEST, EMITTERS_MAX * spacing),
        viscosity=planting.viscosity,
        first_spacing=FIRST_EMITTER * spacing,
        barb_k=device.body_k,
    )
    return found.count * spacing


def longest_rows(
    device: Device, spacing: float, head: float, planting: Planting
) -> tuple[float, float]:
    """Return the longest row [m] with the header at its end, and across its middle.

    Across the middle the water climbs on one side what it falls on the other; the shorter side
    counts, twice.

    Parameters
    ----------
    device : Device
        The line.
    spacing, head : float
        Emitter spacing and head at the start of the line [m], more than 0.
    planting : Planting
        Slope, uniformity wanted, viscosity.

    Raises
    ------
    InputError, ConvergenceError
        As `evenrow.hydraulics.longest_run`.
    """
    slope = planting.row_slope
    end = _run(device, spacing, head, slope, planting)
    other = _run(device, spacing, head, -slope, planting) if slope else end
    return end, 2 * min(end, other)


def _reaches(length: float, longest: float, spacing: float) -> bool:
    """Whether all emitters on a row of that length lie within the longest run."""
    return int(length / spacing + 1e-9) * spacing <= longest * (1 + 1e-9)


def judge(device: Device, planting: Planting) -> Candidate:
    """Return the verdict on one line: its best spacing and number, and what speaks against it.

    Parameters
    ----------
    device : Device
        The line.
    planting : Planting
        What is to be watered.

    Raises
    ------
    InputError, ConvergenceError
        As `evenrow.hydraulics.longest_run`.
    """
    refusals: list[Finding] = []
    reservations: list[Finding] = []
    if planting.bends and device.kind == "tape":
        refusals.append(Finding(name="bends"))
    head, wrong = _head(device, planting)
    refusals += [wrong] if wrong else []
    flow = float(device.emitter.flow(head))
    width = wetted_width(planting.soil, planting.crop.root_depth[0], flow)
    spacing, gap, gap_rules_out = _spacing(device, width, planting.plant_spacing)
    if gap:
        (refusals if gap_rules_out else reservations).append(gap)
    strip = float(wetting.strip_width(width, spacing))
    lines = _lines(planting, strip)
    wet = Wetting(
        spacing=spacing,
        width=width,
        strip=strip,
        rate=float(wetting.strip_rate(flow, spacing, strip)),
        lines=lines,
        share=float(wetting.wetted_share(strip, lines, planting.target)),
    )
    fastest = planting.soil.intake[1]
    if wet.rate > fastest:
        refusals.append(Finding(name="runs off", have=wet.rate, need=fastest))
    elif wet.rate > STANDING * fastest:
        reservations.append(Finding(name="puddles", have=wet.rate, need=fastest))
    if wet.share < planting.wanted * (1 - 1e-9):
        reservations.append(Finding(name="dry ground", have=wet.share, need=planting.wanted))
    if planting.years and device.wall < LASTING_WALL * (1 - SPACING_SLACK):
        reservations.append(Finding(name="thin", have=device.wall, need=LASTING_WALL))
    if flow > OVERDRIVEN * device.emitter.flow_nominal:
        reservations.append(Finding(name="overdriven", have=head, need=device.emitter.head_nominal))
    end = middle = None
    if not wrong:
        end, middle = longest_rows(device, spacing, head, planting)
        if not _reaches(planting.row_length, end, spacing):
            if _reaches(planting.row_length / 2, middle / 2, spacing):
                reservations.append(Finding(name="only middle", have=end, need=planting.row_length))
            else:
                refusals.append(
                    Finding(name="too long", have=max(end, middle), need=planting.row_length)
                )
    return Candidate(
        device=device,
        head=head,
        flow=flow,
        wetting=wet,
        longest_end=end,
        longest_middle=middle,
        refusals=tuple(refusals),
        reservations=tuple(reservations),
    )


def _rank(candidate: Candidate, planting: Planting) -> tuple[float, ...]:
    """Return what sorts lines: fewest findings, fit kind, header place, fewest lines, room to run.

    A header across the middle is no fault of a line, and weighs less than its kind.  Of what is
    left equal the smallest line comes first, because it costs least.
    """
    faults = [f for f in candidate.reservations if f.name != "only middle"]
    reach = max(candidate.longest_end or 0.0, candidate.longest_middle or 0.0)
    room = min(reach / planting.row_length, 2.0)
    return (
        len(candidate.refusals),
        len(faults),
        candidate.device.kind != planting.kind,
        candidate.place == "middle",
        candidate.wetting.lines,
        -round(room, 3),
        candidate.device.diameter,
        candidate.device.wall,
    )


def choose_lines(planting: Planting, lines: Iterable[Device] | None = None) -> LineChoice:
    """Judge every line for a planting and rank those that suit.

    Parameters
    ----------
    planting : Planting
        What is to be watered.
    lines : iterable of Device, optional
        The lines to judge; those of the catalogue when left out.

    Returns
    -------
    LineChoice
        Every line with its verdict, suitable ones first, best first.

    Raises
    ------
    InputError, ConvergenceError
        No line to judge; or as `evenrow.hydraulics.longest_run`.
    """
    given = devices().values() if lines is None else lines
    judged = [judge(device, planting) for device in given]
    if not judged:
        raise InputError(tr("there is no line to choose from"), code="empty", field="lines")
    judged.sort(key=lambda candidate: _rank(candidate, planting))
    return LineChoice(planting=planting, candidates=tuple(judged))


def suitable(
    planting: Planting, lines: Iterable[Device] | None = None
) -> list[tuple[Device, float, int]]:
    """Return (device, emitter spacing [m], lines per bed or row) of each that suits, best first.

    Arguments and errors as of `choose_lines`.
    """
    return [
        (c.device, c.wetting.spacing, c.wetting.lines)
        for c in choose_lines(planting, lines).suitable
    ]
