"""Which figures `./run bench NAME` shows."""

import pytest

from benchmarks.__main__ import is_wanted


@pytest.mark.parametrize(
    ("figure", "wanted", "shown"),
    [
        ("page_weight", ["web"], True),
        ("slider", ["web"], True),
        ("web_load", ["web"], True),
        ("web_load", ["web_load"], True),
        ("web_load_postgresql", ["web_load"], True),
        ("slider", ["web_load"], False),
        ("slider", ["slider"], True),
        ("slider", [], True),
    ],
)
def test_a_named_room_shows_all_its_figures_and_a_named_figure_itself(figure, wanted, shown):
    assert is_wanted("web", figure, wanted) == shown
