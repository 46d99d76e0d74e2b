"""The price of a wish in words and JSON: more by the side of more, less by the side of less."""

import json

import pytest

from longvault.optimise.price import Price
from longvault.studies.pricing import price_document, price_lines, price_words

NAN = float("nan")


@pytest.mark.parametrize(
    ("price", "said"),
    [
        (
            ("area", "height", 0.025, 0.6, 0.0084, -0.0062),
            "100 mm more saves 0.025 m² (-4.1 %); 100 mm less costs 0.034 m² (+5.6 %)",
        ),
        (
            ("area", "height", 0.025, 0.5, 0.01, -0.01),
            "100 mm more saves 0.040 m² (-8.0 %); 100 mm less costs as much",
        ),
        (
            ("area", "height", 0.025, 0.6, 0.00112, -0.000003),
            "100 mm more: nothing gained, another limit rules; 100 mm less costs 0.0045 m² (+0.7 %)",
        ),
        (("steel_area", "height", 0.025, 2e-3, 0.0, -1e-9), "nothing gained: another limit rules"),
        (
            ("steel_area", "opening", 0.05, 2e-3, -1e-5, 2e-5),
            "100 mm more costs 0.40 cm² (+2.0 %); 100 mm less saves 0.20 cm² (-1.0 %)",
        ),
        (
            ("area", "opening", 0.025, 0.6, 0.0, 0.003),
            "100 mm more costs 0.012 m² (+2.0 %); 100 mm less: nothing gained, another limit rules",
        ),
        (
            ("opening", "height", 0.025, 0.5, -0.02, 0.01),
            "100 mm more gains 0.040 m (+8.0 %); 100 mm less loses 0.080 m (-16.0 %)",
        ),
        (
            ("area", "height", 0.025, 0.6, NAN, -0.0062),
            "100 mm more saves 0.025 m² (-4.1 %); 100 mm less: no design found that holds it",
        ),
    ],
)
def test_a_price_is_said_as_a_designer_says_it(price, said):
    assert price_words(Price(*price)) == said


def test_json_and_text_give_each_side_by_itself():
    """At the kink the mean of the sides would read -0.0292 m2 for 100 mm more; 0.0062 x 100 / 25 = 0.0248."""
    kink = Price("area", "height", 0.025, 0.6, 0.0084, -0.0062)
    lost = Price("steel_area", "height", 0.025, 2e-3, NAN, -1e-5)
    one, two = json.loads(json.dumps(price_document([kink, lost]), allow_nan=False))
    assert (one["wish"], one["payer"], one["polished"]) == ("height", "area_m2", 0.6)
    assert one["change_for_100_mm_more"] == pytest.approx(-0.0248)
    assert one["change_for_100_mm_less"] == pytest.approx(0.0336)
    assert two["change_for_100_mm_more"] == pytest.approx(-0.4)
    assert two["change_for_100_mm_less"] is None
    text = "\n".join(price_lines([kink, lost]))
    assert one["words"] in text
    assert two["words"] in text
    assert "25 mm each way" in text
    assert "under 0.2 %" in text
