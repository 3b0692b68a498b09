"""The catalogue: complete, in range, generic; complaints name file, entry and key."""

import pytest

from evenrow.catalogue import assembly_parts, device, devices, pipe, pipes
from evenrow.catalogue.load import _Entry
from evenrow.design.assembly import ORDER, REASONS
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
    placed |= {"zone valve", "ball valve", "standing backflow preventer"}
    assert kinds == placed == set(REASONS)


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


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda e: e.text("label"), "things.toml: x: label is missing"),
        (lambda e: e.si("bore", "diameter"), "things.toml: x.bore"),
        (lambda e: e.lengths("coil", "length"), "coil must list rising lengths"),
    ],
)
def test_a_complaint_names_file_entry_and_key(call, words):
    entry = _Entry("things.toml", "x", {"bore": "12 psi", "coil": ["50 m", "20 m"]})
    with pytest.raises(InputError) as caught:
        call(entry)
    assert words in str(caught.value)
