"""Labels of containers and what may touch lye, against producers' papers."""

from calc.safety import equipment


def test_labels_say_their_signal_word_first_and_caustic_has_its_pictogram() -> None:
    labels = {label.key: label for label in equipment.labels()}
    # Signal word Danger with H314 (suppliers' safety data sheets, 2013 and 2014); Spanish: Peligro (education sheet).
    for key in ("solid", "potash", "lye", "potash_lye"):
        assert (labels[key].signal.en, labels[key].signal.es) == ("DANGER", "PELIGRO")
        assert labels[key].pictogram == "corrosion"
        assert any("severe skin burns" in hazard.en for hazard in labels[key].hazards)


def test_materials_that_make_hydrogen_never_touch_lye() -> None:
    verdicts = {material.key: material.verdict for material in equipment.materials()}
    # Producers' pages on caustic: aluminium, zinc and tin give hydrogen; leather and wool are destroyed.
    assert verdicts["light_metals"] == verdicts["copper"] == verdicts["leather"] == "not"
    assert verdicts["stainless"] == verdicts["hdpe"] == "may"
