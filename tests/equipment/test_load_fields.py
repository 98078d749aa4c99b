"""Loads as they are typed: what is understood, and which word is pointed at when it is not."""

import pytest
from django.core.exceptions import ValidationError

from athletes.equipment.loads import LoadField, LoadsField, PlatesField


@pytest.mark.parametrize(
    ("typed", "loads"),
    [
        ("8, 12, 16", [8, 12, 16]),
        ("16 8 12", [8, 12, 16]),
        ("8,12,16", [8, 12, 16]),
        ("12; 7.5;7.5 kg", [7.5, 12]),
        ("35 lb, 16", [15.876, 16]),
        ("35lbs", [15.876]),
        ("", []),
    ],
)
def test_loads_are_kept_in_kilograms_each_once(typed, loads):
    assert LoadsField(required=False).clean(typed) == loads


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("8, twelve, 16", "“twelve” is no load. Write loads like 8, 12, 16 or 35 lb."),
        ("8, 0", "“0” is no load: it lies above zero and up to 500 kg."),
        ("8, 501", "“501” is no load"),
        ("17,5", "“17,5” can be read in two ways. Write 17.5, or 17, 5 apart."),
        ("8 stone", "“stone” is no load"),
        ("-8", "“-8” is no load"),
        (", ".join(str(n) for n in range(1, 62)), "At most 60 different loads."),
    ],
)
def test_what_is_no_load_is_pointed_at(typed, sentence):
    with pytest.raises(ValidationError) as refused:
        LoadsField(required=False).clean(typed)
    assert sentence in refused.value.messages[0]


@pytest.mark.parametrize(
    ("typed", "pairs"),
    [
        ("20×4, 15x2, 2.5 x 4", [[20, 4], [15, 2], [2.5, 4]]),
        ("1.25*1 20 X 4", [[20, 4], [1.25, 1]]),
        ("20×4,15×2", [[20, 4], [15, 2]]),
        ("45 lb x 2", [[20.412, 2]]),
        ("", []),
    ],
)
def test_plates_come_in_pairs_the_heaviest_first(typed, pairs):
    assert PlatesField(required=False).clean(typed) == pairs


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("20×4, 15", "“15” is no plate with its pairs."),
        ("2,5×4", "“2” is no plate with its pairs."),
        ("20×0", "“20 × 0”: a plate has 1 to 20 pairs."),
        ("20×21", "“20 × 21”: a plate has 1 to 20 pairs."),
        ("20×4, 20x2", "“20 × 2”: this plate stands there twice."),
        ("twenty×4", "“twenty × 4” is no load."),
        ("45 lb x 2, 25 lb", "“25 lb” is no plate with its pairs."),
    ],
)
def test_what_is_no_plate_is_pointed_at(typed, sentence):
    with pytest.raises(ValidationError) as refused:
        PlatesField(required=False).clean(typed)
    assert sentence in refused.value.messages[0]


@pytest.mark.parametrize(("typed", "kg"), [("20", 20), ("20,5 kg", 20.5), ("45 lb", 20.412), ("", None)])
def test_a_bar_is_one_load(typed, kg):
    assert LoadField(required=False).clean(typed) == kg


def test_what_is_kept_is_shown_as_it_could_be_typed():
    assert LoadsField().prepare_value([8, 15.876]) == "8, 15.876"
    assert PlatesField().prepare_value([[20, 4], [2.5, 2]]) == "20 × 4, 2.5 × 2"
    assert LoadField().prepare_value(20.0) == "20"
    assert LoadsField().clean(LoadsField().prepare_value([8, 15.876])) == [8, 15.876]
