"""A seeded house whose truth the search does not know: the benchmark's, one house of it."""

import pytest

from benchmarks.bench_settings import judged


@pytest.mark.parametrize("seed", [1])
def test_settings_keep_the_limits_in_truth_and_gain_most_of_what_is_attainable(seed):
    """Truth from the unit's loop with another compressor and errors (benchmarks/bench_settings.py) [own-derivation]."""
    house = judged(seed)
    assert house["found"] and house["held"]
    assert house["regret"] < 0.3
