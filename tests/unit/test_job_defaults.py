"""One table has every default, metric and inch; what a job gets is what the table says."""

from __future__ import annotations

from dataclasses import fields

import pytest

from planner.cuts.cut import Shop
from planner.jobfile.defaults import ERROR_DEFAULTS, SHOP_DEFAULTS, all_defaults, shop_defaults
from planner.jobfile.schema.base import toml_key
from planner.jobfile.schema.shop import ErrorsSection, ShopSection
from planner.quantity import parse_quantity
from planner.uncertainty.error_model import ErrorModel


@pytest.mark.parametrize("inches", [False, True])
def test_the_table_makes_a_shop(inches: bool) -> None:
    values = shop_defaults(inches=inches)
    shop = Shop(**values)
    assert shop.drills_mm
    for default in SHOP_DEFAULTS:
        stated = default.inch if inches else default.metric
        field = next(name for name in values if toml_key(name) == default.key)
        if isinstance(stated, str) and stated[0].isdigit():
            assert values[field] == pytest.approx(parse_quantity(stated, "length"))


def test_lengths_are_round_in_their_own_unit() -> None:
    for default in SHOP_DEFAULTS:
        lengths = default.inch if isinstance(default.inch, tuple) else (default.inch,)
        for text in lengths:
            if default.key == "rim_cut_step":
                # a lathe's dial counts thousandths of an inch
                thousandths = parse_quantity(str(default.inch), "length") / 25.4 * 1000.0
                assert thousandths == pytest.approx(round(thousandths), abs=1e-9)
            elif isinstance(text, str) and text.endswith(" in"):
                sixty_fourths = parse_quantity(text, "length") / 25.4 * 64
                assert sixty_fourths == pytest.approx(round(sixty_fourths), abs=1e-9)


def test_inch_defaults_are_near_the_metric_ones() -> None:
    """The metric value stands in the shop's record, the inch value beside it: a slip of a place would be seen here."""
    metric, inch = shop_defaults(inches=False), shop_defaults(inches=True)
    for name in metric:
        if name.endswith("_mm") and isinstance(metric[name], float) and metric[name]:
            assert inch[name] == pytest.approx(metric[name], rel=0.6), name
        elif not name.endswith("_mm"):
            assert inch[name] == metric[name], name


def test_every_key_with_a_default_is_in_the_table() -> None:
    table = {(default.section, default.key) for default in all_defaults()}
    assert len(table) == len(all_defaults())
    # these have no default: nothing is forbidden, priced or fixed unless the file says so
    none = {
        "slug_class",
        "slug_lengths",
        "allow",
        "forbid",
        "first_pass",
        "slug_price",
        "minutes_per_slug",
        "lightening_price",
    }
    keys = {toml_key(name) for name in ShopSection.model_fields} - none
    assert {key for section, key in table if section == "shop"} == keys
    assert {key for section, key in table if section == "errors"} == {
        toml_key(name) for name in ErrorsSection.model_fields
    }


def test_errors_are_the_error_models_own() -> None:
    model = ErrorModel()
    for default, field in zip(ERROR_DEFAULTS, fields(ErrorModel), strict=True):
        assert default.metric == default.inch == getattr(model, field.name)
        assert default.what
