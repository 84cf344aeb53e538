"""Skin by words: the whole human range in even steps, each a colour that skin can have."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from falloff import spectrum
from falloff.errors import GeometryError
from falloff.kit import SKIN_WORDS, find_skin, material_names


def test_words_go_from_deepest_to_palest() -> None:
    reflectances = [find_skin(word).reflectance for word in SKIN_WORDS]
    assert reflectances == sorted(reflectances)
    assert len(set(SKIN_WORDS)) == len(SKIN_WORDS) >= 8  # pencil: eight words were asked for


def test_words_span_the_human_range() -> None:
    # source: rule of thumb 10 to 45 %, from memory; the ends of single people lie beyond it
    assert find_skin(SKIN_WORDS[0]).reflectance < 0.08
    assert find_skin(SKIN_WORDS[-1]).reflectance >= 0.55
    assert sum(0.10 <= find_skin(word).reflectance <= 0.45 for word in SKIN_WORDS) >= 5


def test_steps_are_at_most_half_a_stop() -> None:
    # pencil: a word is then never more than a quarter of a stop from anybody's skin
    for deeper, paler in itertools.pairwise(SKIN_WORDS):
        stops = math.log2(find_skin(paler).reflectance / find_skin(deeper).reflectance)
        assert 0.25 <= stops <= 0.5


def test_every_channel_rises_with_the_words() -> None:
    channels = np.array(
        [
            spectrum.tint_to_reflectance(find_skin(word).reflectance, find_skin(word).tint)
            for word in SKIN_WORDS
        ]
    )
    assert np.all(np.diff(channels, axis=0) > 0.0)
    # blood and melanin both take blue most and red least (common to all published skin spectra)
    assert np.all(channels[:, 0] > channels[:, 1])
    assert np.all(channels[:, 1] > channels[:, 2])
    # what the bare surface returns, Fresnel at n = 1.4, is in every channel: pencil
    assert channels.min() > (0.4 / 2.4) ** 2 * 0.99


def test_a_tint_has_luminance_one() -> None:
    luminances = [float(spectrum.luminance(find_skin(word).tint)) for word in SKIN_WORDS]
    assert_allclose(luminances, 1.0, atol=1e-3)  # pencil; rounded to three decimals


def test_words_are_no_materials() -> None:
    assert not set(SKIN_WORDS) & set(material_names())


def test_an_unknown_word_is_told_with_the_nearest() -> None:
    with pytest.raises(GeometryError, match="no skin is called 'pal'") as caught:
        find_skin("pal")
    assert caught.value.faults[0].fix == "did you mean 'pale'?"
    with pytest.raises(GeometryError) as caught:
        find_skin("xyzzy")
    assert caught.value.faults[0].fix == "write a reflectance, such as 0.35"
