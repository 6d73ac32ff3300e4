"""How many figures of a key count, beside its siblings."""

from __future__ import annotations

import numpy as np
import pytest

from qbank.audit.causes.work import Keys, written_places


def keys(*texts: str) -> Keys:
    places = np.array([written_places(text, float(text)) for text in texts], dtype=np.int64)
    return Keys(np.array([float(text) for text in texts]), places[:, 0], places[:, 1])


@pytest.mark.parametrize(
    ("texts", "figures"),
    [
        (("198", "223", "210", "187", "205"), [3, 3, 3, 3, 3]),
        (("1980", "2230", "2100", "1870", "2050"), [3, 3, 3, 3, 3]),
        (("19", "22", "210", "18", "20"), [2, 2, 2, 2, 2]),
        (("198.2", "223.4", "200", "187.1", "205.3"), [4, 4, 3, 4, 4]),
    ],
)
def test_zeros_count_as_far_as_siblings_have_figures(
    texts: tuple[str, ...], figures: list[int]
) -> None:
    assert keys(*texts).like_siblings().figures.tolist() == figures


def test_a_swap_of_digits_is_no_rounding_beside_siblings_of_three_figures() -> None:
    found = keys("198", "223", "210", "187", "205")
    answers = np.array([198.0, 223.0, 206.0, 187.0, 205.0])
    assert found.matches(answers).tolist() == [True, True, True, True, True]
    assert found.like_siblings().matches(answers).tolist() == [True, True, False, True, True]
