"""The catalogue: complete, in range, generic; complaints name file, entry and key."""

import pytest

from evenrow.catalogue import (
    assembly_parts,
    builtin,
    controller,
    device,
    devices,
    fitting,
    fittings,
    pipe,
    pipes,
)
from evenrow.catalogue.forms import FITTING_KINDS, PART_KINDS
from evenrow.catalogue.prices import everything
from evenrow.design.assembly import ORDER, REASONS, WITH_INJECTOR
from evenrow.errors import InputError


@pytest.mark.parametrize("found", devices().values(), ids=lambda d: d.code)
def test_a_device_makes_sense(found):
    emitter = found.emitter
    assert found.kind in ("tape", "dripline")
    assert 0.002 < found.diameter < 0.05
    assert found.wall < found.diameter
    assert found.passage < found.diameter
    assert emitter.head_min < emitter.head_nominal <= emitter.head_max
    assert 0.0 <= emitter.exponent <= 1.0
    assert 0.0 < emitter.cv < 0.1
    assert list(found.coils) == sorted(found.coils)
    assert all(0.05 <= spacing <= 1.0 for spacing in found.spacings)


def test_pipes_rise_in_bore():
    bores = [size.bore for size in pipes().values()]
    assert bores == sorted(bores)
    assert len(set(bores)) == len(bores)


def test_every_kind_of_part_has_a_reason_and_a_place():
    kinds = {part.kind for part in assembly_parts()}
    placed = {kind for order in ORDER.values() for kind in order}
    placed |= {"zone valve", "ball valve", "standing backflow preventer", *WITH_INJECTOR.values()}
    assert placed <= kinds
    assert kinds == set(REASONS) == set(PART_KINDS)


def test_every_kind_of_fitting_is_there():
    assert {found.kind for found in fittings().values()} == set(FITTING_KINDS)


def test_a_code_stands_for_one_thing():
    counts = (len(devices()), len(pipes()), len(assembly_parts()), len(fittings()))
    assert len(everything(builtin())) == sum(counts)


def test_sizes_of_a_kind_stand_smallest_first():
    for kind in {part.kind for part in assembly_parts()} - {"regulator"}:
        flows = [part.flow_max for part in assembly_parts() if part.kind == kind]
        assert flows == sorted(flows), kind


def test_only_regulators_have_a_setting():
    assert all(
        (part.set_head is not None) == (part.kind == "regulator") for part in assembly_parts()
    )


@pytest.mark.parametrize("look", [device, pipe])
def test_an_unknown_code_is_told_with_what_there_is(look):
    with pytest.raises(InputError, match="not in the catalogue") as caught:
        look("gold-99")
    assert caught.value.accepted


ALL_SOLD = [*devices().values(), *pipes().values(), *assembly_parts(), *fittings().values()]


@pytest.mark.parametrize("sold", ALL_SOLD, ids=lambda entry: entry.code)
def test_every_entry_has_a_price_a_mass_and_a_source(sold):
    assert sold.mass is not None
    assert 0.001 <= sold.mass < 50.0
    assert "invented for the demonstrations" in sold.source
    if hasattr(sold, "coils"):
        assert len(sold.prices) == len(sold.coils)
        assert list(sold.prices) == sorted(sold.prices)
        # A longer coil is never dearer by the metre.
        by_metre = [price / coil for price, coil in zip(sold.prices, sold.coils, strict=True)]
        assert by_metre == sorted(by_metre, reverse=True)
    else:
        assert sold.price > 0.0
    assert len(builtin().currency) == 3


@pytest.mark.parametrize("line", devices())
@pytest.mark.parametrize(
    "kind", ["take-off", "take-off with valve", "end cap", "coupling", "repair piece", "stake"]
)
def test_every_line_has_its_fittings(line, kind):
    found = fitting(kind, line)
    assert found.fits in (line, device(line).kind)


def test_a_line_of_another_size_has_fittings_of_its_own():
    assert fitting("take-off", "tape-16-thin") == fitting("take-off", "tape")
    assert fitting("take-off", "tape-22").fits == "tape-22"


@pytest.mark.parametrize("size", pipes())
def test_every_pipe_has_its_fittings(size):
    for kind in ("tee", "elbow", "coupling", "end cap", "flush valve"):
        assert fitting(kind, size).fits == size
    if pipe(size).clamped:
        assert fitting("clamp", size).fits == size
    for thread in {part.size for part in assembly_parts()}:
        assert fitting("thread adapter", size, thread).to == thread
        assert fitting("elbow thread adapter", size, thread).to == thread
    for other in set(pipes()) - {size}:
        found = fitting("reducer", size, other)
        assert {found.fits, found.to} == {size, other}
        assert pipe(found.fits).bore > pipe(found.to).bore


def test_every_filter_has_an_element_and_every_thread_a_swivel():
    for part in assembly_parts():
        assert fitting("swivel", part.size).fits == part.size
        if "filter" in part.kind:
            assert fitting("filter element", part.code).fits == part.code


def test_the_smallest_controller_that_is_enough():
    assert [controller(n).stations for n in (1, 2, 3, 5, 12, 48)] == [1, 2, 4, 6, 12, 48]
    with pytest.raises(InputError, match="no controller for 49 zone valves"):
        controller(49)


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (("tee", "gold-99"), "no tee for gold-99 Accepted: tube-15"),
        (("reducer", "pipe-27", "pipe-27"), "no reducer for pipe-27 to pipe-27"),
        (("sprocket",), "no sprocket Accepted: take-off,"),
    ],
)
def test_a_fitting_that_is_not_there_is_told(asked, words):
    with pytest.raises(InputError, match=words):
        fitting(*asked)
