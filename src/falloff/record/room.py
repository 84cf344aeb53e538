"""The light of a room as a function of what was assumed of it; settled anew where that bends it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from msgspec.structs import replace

from falloff.constants import LUMINANCE_WEIGHTS
from falloff.document import Material, SceneDocument
from falloff.kit import find_material
from falloff.record.outside import DaylightSaid
from falloff.record.records import Taken
from falloff.record.stood import Stood
from falloff.record.unknowns import Unknown
from falloff.sources import SKY, SUN
from falloff.stage import dimmed_light, relit
from falloff.transport import settle_again, trace_probes
from falloff.types import BoolArray, Float64Array

_STEP: Final = 0.25  # of a reflectance's odds, stops: well over what the solve leaves
_TINY: Final = 1e-9
_NO_LIGHT: Final = -60.0  # log2 of a level where there is none


@dataclass(frozen=True, slots=True)
class Lit:
    """A reading as the room sees it: where it stood, its probe, what each source's light is times.

    weight: (s, 3), dims, colours and luminance weights; zero for what was off.
    """

    stood: int
    probe: int
    weight: Float64Array


@dataclass(slots=True)
class Room:
    """Everything that was lit while readings were taken, and how it hangs on the unknowns."""

    stood: Sequence[Stood]
    unknowns: Sequence[Unknown]
    daylight: DaylightSaid | None
    _kept: dict[tuple[int, tuple[float, ...]], Float64Array] = field(default_factory=dict)
    _bends: dict[int, dict[int, Float64Array]] = field(default_factory=dict)
    _base: tuple[Float64Array, dict[int, Float64Array]] | None = None
    _shares: dict[int, Float64Array] = field(default_factory=dict)

    def is_spot(self, one: Lit) -> bool:
        """Whether a reading is a spot meter's."""
        probes = self.stood[one.stood].layers.probes.probes
        return probes[one.probe].instrument == "spot"

    def unit(self, one: Lit) -> str:
        """The unit of a reading's level."""
        return "cd/m²" if self.is_spot(one) else "lx"

    # Light --------------------------------------------------------------------------------

    def levels(self, lit: Sequence[Lit], x: Float64Array) -> Float64Array:
        """What each reading is at x, lx or cd/m² (m,); all light settled for that x."""
        return np.array([float(self._by_source(one, x).sum()) for one in lit])

    def rows(self, lit: Sequence[Lit], x: Float64Array) -> Float64Array:
        """How each reading's log2 moves with each unknown at x (m, n).

        Outputs, sky and sun are exact; reflectances by what `bend` found last.
        """
        return self._rows(lit, [self._by_source(one, x) for one in lit])

    def base_at(self, lit: Sequence[Lit], x: Float64Array) -> None:
        """Settle light at x, for `near` to go out from."""
        light = {k: self._light(k, x) for k in sorted({one.stood for one in lit})}
        self._base = x.copy(), light

    def near(self, lit: Sequence[Lit], x: Float64Array) -> tuple[Float64Array, Float64Array]:
        """Levels (m,) and rows (m, n) at an x not far from the base, without settling anew.

        Exact in outputs; each channel's log2 is straight in reflectances, as `bend` found it.
        """
        assert self._base is not None
        at, light = self._base
        by_source = []
        for one in lit:
            bends = self._bends.get(one.stood, {})
            bent = sum((bends[u][:, one.probe] * (x[u] - at[u]) for u in bends), np.zeros(1))
            stops = sum(
                (gain * (x[u] - at[u]) for u, gain in self._gains(one.stood).items()
                 if u in self._settling(one.stood)),
                np.zeros(len(one.weight)),
            )  # fmt: skip
            here = one.weight * light[one.stood][:, one.probe] * 2.0**bent
            factors = self._factors(one.stood, x) * 2.0**stops
            by_source.append(here * factors[:, None])
        return np.array([float(one.sum()) for one in by_source]), self._rows(lit, by_source)

    def _by_source(self, one: Lit, x: Float64Array) -> Float64Array:
        """What each channel of each source gives a reading (s, 3)."""
        light = self._light(one.stood, x)[:, one.probe]
        return np.asarray(one.weight * light * self._factors(one.stood, x)[:, None])

    def _rows(self, lit: Sequence[Lit], by_source: Sequence[Float64Array]) -> Float64Array:
        made = np.zeros((len(lit), len(self.unknowns)))
        for i, (one, parts) in enumerate(zip(lit, by_source, strict=True)):
            whole = float(parts.sum())
            if whole <= _TINY:
                continue
            for u, gain in self._gains(one.stood).items():
                made[i, u] = float(gain @ parts.sum(1)) / whole
            for u, bent in self._bends.get(one.stood, {}).items():
                made[i, u] = float((parts * bent[:, one.probe]).sum()) / whole
        return made

    def bend(self, lit: Sequence[Lit], x: Float64Array) -> None:
        """Find how light hangs on each reflectance at x, where these readings stood.

        Each is stepped and all light settled anew: the change of log2 of each channel.
        """
        for k in sorted({one.stood for one in lit}):
            base = self._light(k, x)
            found = {}
            for u, unknown in enumerate(self.unknowns):
                names = self.stood[k].layers.solution.stage.material_names
                if unknown.kind != "reflectance" or unknown.name not in names:
                    continue
                up = x[u] + _STEP <= unknown.high
                stepped = x.copy()
                stepped[u] += _STEP if up else -_STEP
                other = self._light(k, stepped, keep=False)
                ratio = np.maximum(other, _TINY) / np.maximum(base, _TINY)
                found[u] = np.log2(ratio) / (_STEP if up else -_STEP)
            self._bends[k] = found

    def _light(self, k: int, x: Float64Array, *, keep: bool = True) -> Float64Array:
        """Light of every source at every probe at 100 %, white, outputs as assumed (s, p, 3)."""
        one = self.stood[k]
        told = tuple(round(float(x[u]), 9) for u in self._settling(k))
        if not any(told):
            direct, bounced = one.layers.probes.mean()
            return np.asarray(direct + bounced)
        if (k, told) in self._kept:
            return self._kept[k, told]
        document = self._document(k, x)
        stage = relit(one.layers.solution.stage, document)
        solution = settle_again(one.layers.solution, stage).solution
        direct, bounced = trace_probes(solution, stage.probes).mean()
        light = np.asarray(direct + bounced)
        if keep:
            while len(self._kept) >= 2 * len(self.stood):
                del self._kept[next(iter(self._kept))]
            self._kept[k, told] = light
        return light

    def _settling(self, k: int) -> list[int]:
        """The unknowns that light has to be settled anew for; with a sun up, sky and sun too."""
        kinds = {"reflectance", "sky", "sun"} if self._sunlit(k) else {"reflectance"}
        return [u for u, unknown in enumerate(self.unknowns) if unknown.kind in kinds]

    def _sunlit(self, k: int) -> bool:
        sources = self.stood[k].layers.solution.stage.sources
        return any(one.kind == SUN and one.shape[13] > 0.0 for one in sources)

    def _document(self, k: int, x: Float64Array) -> SceneDocument:
        """The document where things stood so, with reflectances, and with a sun the sky, at x."""
        document = with_reflectances(self.stood[k].document, self.unknowns, x)
        if self._sunlit(k) and self.daylight is not None and document.sky is not None:
            sky, sun = self._at("sky", x), self._at("sun", x)
            made = self.daylight.corrected(sky, sun)
            hour = {"at": document.sky.at, "read_at": document.sky.read_at}
            document = replace(document, sky=replace(made, **hour))
        return document

    def _at(self, kind: str, x: Float64Array) -> float:
        return next((float(x[u]) for u, one in enumerate(self.unknowns) if one.kind == kind), 0.0)

    # Factors ------------------------------------------------------------------------------

    def _factors(self, k: int, x: Float64Array) -> Float64Array:
        """What each source's light is times at x, beside what was settled anew (s,)."""
        stops = np.zeros(len(self.stood[k].layers.names))
        settling = set(self._settling(k))
        for u, gain in self._gains(k).items():
            if u not in settling:
                stops += gain * x[u]
        return np.asarray(2.0**stops)

    def _gains(self, k: int) -> dict[int, Float64Array]:
        """How much of each source's light each unknown but a reflectance makes stronger (s,)."""
        sources = self.stood[k].layers.solution.stage.sources
        found = {}
        for u, unknown in enumerate(self.unknowns):
            if unknown.kind == "reflectance":
                continue
            gain = np.array([float(one.name in unknown.sources) for one in sources])
            if unknown.kind in {"sky", "sun"} and self._sunlit(k):
                share = self._sky_shares(k)
                kinds = np.array([one.kind for one in sources])
                gain = np.where(kinds == SKY, share if unknown.kind == "sky" else 1.0 - share, gain)
            found[u] = gain
        return found

    def _sky_shares(self, k: int) -> Float64Array:
        """What part of each window's light is the sky's, the rest the sun's off the ground (s,)."""
        if k not in self._shares and self.daylight is not None:
            one = self.stood[k]
            assert one.document.sky is not None
            hour = {"at": one.document.sky.at, "read_at": one.document.sky.read_at}
            stronger = replace(self.daylight.corrected(0.25, 0.0), **hour)
            stage = one.layers.solution.stage
            brighter = relit(stage, replace(one.document, sky=stronger))
            gained = [
                after.flux_lm / before.flux_lm if before.flux_lm > 0.0 else 1.0
                for before, after in zip(stage.sources, brighter.sources, strict=True)
            ]
            whole = 2.0**0.25 - 1.0
            self._shares[k] = np.clip((np.array(gained) - 1.0) / whole, 0.0, 1.0)
        return self._shares[k]


def with_reflectances(
    document: SceneDocument, unknowns: Sequence[Unknown], x: Float64Array
) -> SceneDocument:
    """The document with the materials' reflectances at x, their tints as they were."""
    made = dict(document.materials)
    for u, unknown in enumerate(unknowns):
        if unknown.kind == "reflectance" and x[u]:
            own = made.get(unknown.name) or of_kit(unknown.name)
            made[unknown.name] = replace(own, reflectance=unknown.value(float(x[u])))
    return replace(document, materials=made)


def of_kit(name: str) -> Material:
    """The kit's material as a scene's own."""
    known = find_material(name)
    return Material(
        reflectance=known.reflectance, tint=known.tint,
        sheen=known.sheen, roughness=known.roughness,
    )  # fmt: skip


# What was on -----------------------------------------------------------------------------


def is_daylight(one: Stood) -> BoolArray:
    """Which sources are sky or sun (s,)."""
    return np.array([s.kind in {SKY, SUN} for s in one.layers.solution.stage.sources], np.bool_)


def lit_as(
    stood: Sequence[Stood], k: int, probe: int, *, setup: str,
    on: Sequence[str] | None, knobs: Mapping[str, float] | None = None,
) -> Lit:  # fmt: skip
    """A reading with these sources on (None: all) at the setup's dims, or at knobs (0 to 1).

    A source that was on though the setup has it out is taken at full.
    """
    one = stood[k]
    setup_light = one.setups[setup]
    colours = dict(zip(one.layers.names, one.layers.colours, strict=True))
    gains = setup_light.gains(colours)
    weight = np.zeros((len(one.layers.names), 3))
    for s, name in enumerate(one.layers.names):
        if on is not None and name not in on:
            continue
        gain = np.asarray(gains[name], np.float64)
        if knobs and name in knobs:
            dimmed = dimmed_light(one.document, name, knobs[name])
            gain = dimmed.light_share * colours[name] * dimmed.tint
        elif on is not None and setup_light.dims.get(name, 1.0) <= 0.0:
            gain = np.asarray(colours[name], np.float64)
        weight[s] = gain * np.array(LUMINANCE_WEIGHTS)
    return Lit(k, probe, weight)


def lit_of(stood: Sequence[Stood], taken: Taken) -> Lit:
    """A reading that was taken, as the room sees it."""
    k = next(
        k for k, one in enumerate(stood) if taken.setup in one.setups and one.hour == taken.hour
    )
    probe = probe_of(stood[k], taken.reading, taken.setup)
    return lit_as(stood, k, probe, setup=taken.setup, on=taken.lit, knobs=taken.knobs)


def probe_of(one: Stood, reading: str, setup: str) -> int:
    """The index of a reading's probe in a setup."""
    camera = one.setups[setup].camera
    return next(
        p
        for p, probe in enumerate(one.layers.probes.probes)
        if probe.name == reading and probe.view in {None, camera}
    )


def sampling_stops(stood: Sequence[Stood], lit: Lit) -> float:
    """One standard error of the trace at a reading, stops."""
    probes = stood[lit.stood].layers.probes
    both = probes.direct[:, lit.probe] + probes.bounced[:, lit.probe]
    whole = np.einsum("sc,scn->n", lit.weight, both)
    level = float(whole.mean())
    if whole.size < 2 or level <= 0.0:
        return 0.0
    return float(whole.std(ddof=1) / math.sqrt(whole.size) / level / math.log(2.0))


def log_levels(levels: Float64Array) -> Float64Array:
    """log2 of levels, far down where there is no light."""
    return np.asarray(np.where(levels > _TINY, np.log2(np.maximum(levels, _TINY)), _NO_LIGHT))
