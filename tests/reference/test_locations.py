"""Our light in the three shipped locations against another renderer's, source by source.

Source: tests/reference/locations, a path tracer over our stage's triangles with sources written by
hand; it shares none of our dicing, sampling or transport. Both sides stand without panes (they
hide lamps from that renderer's light sampling and have a witness in test_witness_sheets) and
without sheen (judged elsewhere): the scenes are read with `glass: 1` and every coat is taken off.

Bars: readings within 0.05 stop where the source gives 2 % of them or more; blocks of 6 × 6 pixels
of 240 × 135 within 0.03 stop at the median and 0.15 stop at the 99th percentile. Both are asked of
√(d² − σ²), d being the difference and σ the standard errors of both sides together: of readings of
each seed by itself, of blocks of the mean over seeds; what one seed shows, noise and all, is
printed beside it. Left out of the blocks: those that show the lit source itself, those darker than
a hundredth of the picture's median, and those that the witness itself knows to no better than 0.06
stop, most of them under the refrigerator's and the hall's lamps and the small window; their number
is printed. Sources that give less than 2 % of every reading have no data: the sky in the two night
scenes.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
import pytest
from tests.reference.locations import judge, load, scenes

# What is outside the bars, as measured, the largest of five seeds. Nearly all of it is small in
# what a person reads: at the hair's shadow edge the head on the wall and the globe give 4 % of the
# light each, and their other readings lie within the bar. The told error of a reading leaves out
# how much the light of elements differs from seed to seed.
KNOWN_READINGS = {
    ("workshop", "BACK WINDOW"): "one seed 0.11 stop bright at the hair's edge",
    ("workshop", "BOOK"): "every seed 0.04 to 0.06 dark at the hair's edge, lit off the shoulder",
    ("workshop", "WALL HEAD"): "one seed 0.29 bright at the hair's edge",
    ("workshop", "GLOBE"): "every seed 0.11 dark at the hair's edge",
    ("kitchen", "MOON"): "single seeds 0.06 out, their mean 0.03",
    ("kitchen", "REFRIGERATOR LAMP"): "single seeds 0.12 out either way, their mean 0.03",
    ("kitchen", "PHONE"): "every seed 0.09 out on the table, a hand from the phone and its stand",
}
KNOWN_BLOCKS = {
    ("workshop", "WALL HEAD"): "0.20 at the 99th percentile: slats, and wall by a shelf's brackets",
    ("kitchen", "MOON"): "0.27 at the 99th percentile: small things in the beam on the worktop",
    ("kitchen", "REFRIGERATOR LAMP"): "0.28 at the 99th percentile, under the shelves",
    ("stairwell", "HALL LAMP"): "0.25 at the 99th percentile of 305 blocks that the witness knows",
}


def _places(known: dict[tuple[str, str], str]) -> list[Any]:
    """Every location and source with data, those that are known to miss marked so."""
    found = []
    for name in scenes.LOCATIONS:
        stored = load.load_location(name)
        for source in () if stored is None else stored.sources:
            why = known.get((name, source))
            marks = (
                []
                if why is None
                else [pytest.mark.xfail(raises=AssertionError, reason=why, strict=False)]
            )
            found.append(pytest.param(name, source, marks=marks))
    return found


@lru_cache(maxsize=3)
def _found(name: str) -> dict[str, judge.Differences]:
    stored = load.load_location(name)
    assert stored is not None
    found = judge.differences(name, judge.traced(name), stored)
    return {one.source: one for one in found}


@pytest.mark.parametrize("name", scenes.LOCATIONS)
def test_stored_data_belong_to_the_stage_as_it_is(name: str) -> None:
    stored = load.load_location(name)
    assert stored is not None
    assert stored.fingerprint.agrees(scenes.fingerprint(name)), "build the witness anew"
    points = np.array([probe.point for probe in scenes.location_probes(name)])
    np.testing.assert_allclose(stored.arrays["points_m"], points, atol=1e-4)


@pytest.mark.parametrize("name", scenes.LOCATIONS)
def test_stored_data_belong_to_the_sources_written_by_hand(name: str) -> None:
    mitsuba = pytest.importorskip("mitsuba", reason="the sources are written in its language")
    mitsuba.set_variant("scalar_rgb")
    stored = load.load_location(name)
    assert stored is not None
    assert stored.sources_sha256 == scenes.sources_checksum(name)


@pytest.mark.parametrize("name", scenes.LOCATIONS)
def test_sources_by_hand_stand_where_the_scene_file_has_them(name: str) -> None:
    """Flux, middle and size of every light as written by hand are those of the stage's own."""
    mitsuba = pytest.importorskip("mitsuba", reason="the sources are written in its language")
    mitsuba.set_variant("scalar_rgb")
    from tests.reference.locations.sources import LIGHTS, Ball, Head, Hole, Panel

    ours = {source.name: source for source in scenes.location_stage(name).sources}
    for key, light in LIGHTS[name].items():
        shape = ours[key].shape
        middle, area = shape[:3], shape[12]
        match light:
            case Panel(size_m=(width, height)):
                middle, wanted = middle + 0.5 * (shape[3:6] + shape[6:9]), width * height
            case Ball():
                wanted = np.pi * light.diameter_m**2
            case Head():
                wanted = np.pi / 4.0 * light.mouth_m**2
            case Hole():
                held = np.array([shape[:3], shape[3:6], shape[6:9]])
                hand = (light.corner_m, light.edge_u_m, light.edge_v_m)
                np.testing.assert_allclose(held, hand, atol=1e-9)
                zenith = 9.0 / (7.0 * np.pi) * light.outside_lx
                np.testing.assert_allclose(shape[13], zenith, rtol=1e-6)
                np.testing.assert_allclose(shape[14], light.ground * light.outside_lx / np.pi)
                continue
        np.testing.assert_allclose(middle, light.centre_m, atol=1e-6, err_msg=key)
        np.testing.assert_allclose(area, wanted, rtol=1e-6, err_msg=key)
        np.testing.assert_allclose(ours[key].flux_lm, light.flux_lm, rtol=1e-6, err_msg=key)


@pytest.mark.parametrize(("name", "source"), _places(KNOWN_READINGS))
def test_readings(name: str, source: str) -> None:
    """Every reading of which the source gives its share, each seed by itself."""
    one = _found(name)[source]
    print(f"\n{name}, {source:17}       ours   theirs    stops, one a seed      ± ours ± theirs")
    for k, reading in enumerate(one.names):
        if one.judged[k]:
            told = " ".join(f"{stops:7.3f}" for stops in one.reading_stops[:, k])
            print(
                f"{reading:>31} {one.ours_lx[:, k].mean():8.3f} {one.theirs_lx[k]:8.3f} {told} "
                f"{one.own_error[k]:7.3f} {one.their_error[k]:7.3f}"
            )
    worst = one.reading_left[:, one.judged].max(0)
    names = np.array(one.names)[one.judged]
    assert (worst <= 0.05).all(), dict(zip(names.tolist(), worst.round(3).tolist(), strict=True))


@pytest.mark.parametrize(("name", "source"), _places(KNOWN_BLOCKS))
def test_blocks(name: str, source: str) -> None:
    """Median and 99th percentile over the blocks of the wide picture."""
    one = _found(name)[source]
    plain, left, mean = np.abs(one.block_stops), one.block_left, one.mean_stops
    print(f"\n{name}, {source}: {left.size} blocks, {one.blurred} not sharp; stops")
    print(
        f"  one seed: median {np.median(plain, 1).round(3)}, "
        f"99 % {np.quantile(plain, 0.99, axis=1).round(3)}"
    )
    for label, values in (("seeds' mean", np.abs(mean)), ("noise told off", left)):
        print(
            f"  {label}: median {np.median(values):.4f}, 99 % {np.quantile(values, 0.99):.3f}, "
            f"greatest {values.max():.3f}"
        )
    print(
        f"  as a whole {mean.mean():+.4f}; noise at the median and the 99th percentile: ours "
        f"{np.median(one.block_own):.4f} {np.quantile(one.block_own, 0.99):.3f}, witness "
        f"{np.median(one.block_theirs):.4f} {np.quantile(one.block_theirs, 0.99):.3f}"
    )
    assert np.median(left) <= 0.03
    assert np.quantile(left, 0.99) <= 0.15
