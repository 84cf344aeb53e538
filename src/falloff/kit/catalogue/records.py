"""What the catalogue knows of each kind of thing: SI numbers, where from, how far to trust them."""

from __future__ import annotations

from typing import Annotated, Final, Literal

import msgspec
from msgspec import Meta, field

from falloff.kit.catalogue.dimming import ColourOnDim, DimCurve

# One figure of one item, in its own unit; what it may be is checked when it is read.
Positive = Annotated[float, Meta(gt=0)]
NotNegative = Annotated[float, Meta(ge=0)]
Share = Annotated[float, Meta(ge=0, le=1)]
AnyNumber = Annotated[float, Meta()]
FullAngle = Annotated[float, Meta(gt=0, le=6.283185307179587)]

FROM_MEMORY: Final = "common practice, from memory"
BY_USER: Final = "measured by the user"

BeamShape = Literal["focused", "flat", "matte", "all round", "tube"]
LampFamily = Literal[
    "LED white",
    "LED bi-colour",
    "LED RGBW",
    "tungsten",
    "daylight discharge",
    "fluorescent",
    "flame",
    "display",
]


class Item(msgspec.Struct, frozen=True, kw_only=True):
    """What every item has.

    also: other words for it; provenance: where its figures are from, and provenance_of: where
    single ones are from otherwise; spread_stops: how far, up or down, its light may be from what
    is said; spread_of: the same for single figures.
    """

    name: str
    also: tuple[str, ...] = ()
    provenance: str = FROM_MEMORY
    provenance_of: dict[str, str] = field(default_factory=dict)
    spread_stops: NotNegative = 0.0
    spread_of: dict[str, NotNegative] = field(default_factory=dict)
    day_rate: NotNegative | None = None
    note: str = ""


class Opening(msgspec.Struct, frozen=True, kw_only=True):
    """What shines: a rectangle, disc, ball (width alike height) or tube (width its length)."""

    shape: Literal["rectangle", "disc", "ball", "tube"]
    width_m: Positive
    height_m: Positive


class Beam(msgspec.Struct, frozen=True, kw_only=True):
    """One way that light leaves: its flux, its greatest intensity, full angle at half of that.

    shape: "focused", a power of the cosine; "flat", even with an edge; "matte", the cosine itself;
    "all round"; "tube", all round a tube, the intensity being that square to it.
    """

    name: str
    shape: BeamShape
    beam_angle_rad: FullAngle
    flux_lm: Positive
    axis_cd: Positive


class Flicker(msgspec.Struct, frozen=True, kw_only=True):
    """What is known of a fixture's flicker: hints to test by, not a promise.

    mains-driven: pulses at twice the mains frequency, `modulation_share` of the mean either way;
    PWM: pulses at frequency_hz when dimmed; refreshed: drawn anew at frequency_hz.
    """

    kind: Literal["steady", "mains-driven", "PWM", "refreshed", "flame", "unknown"]
    frequency_hz: Positive | None = None
    modulation_share: Share | None = None
    dimmed_only: bool = False


class Fixture(Item, tag="fixture", tag_field="kind", frozen=True, kw_only=True):
    """Anything that gives light: a crew's head, a bulb in shot, a screen, a candle.

    flux_lm: of the bare head, all ways, without its reflector or lens; beams: what leaves it as it
    is used. power_w: what it draws from its supply. cri: None where it is not known. green_cc: more
    than 0 is green, less is magenta, in CC. lowest_steady_share: of the knob. accepts: mounts of
    modifiers that fit. inrush_ratio: current at switch-on over running current, tens of ms.
    photometric_file: where its intensities were read from, and the SHA-256 of what was read.
    """

    family: LampFamily
    form: str
    supply: Literal["mains", "mains or battery", "battery", "none"] = "mains"
    power_w: NotNegative
    power_factor: Share = 1.0
    inrush_ratio: Positive | None = None
    flux_lm: Positive
    beams: tuple[Beam, ...]
    opening: Opening
    weight_kg: NotNegative
    mount: str = "none"
    kelvin: Positive
    kelvin_low: Positive
    kelvin_high: Positive
    cri: AnyNumber | None = None
    green_cc: AnyNumber = 0.0
    dim: DimCurve = DimCurve()
    lowest_steady_share: Share = 0.0
    colour_on_dim: ColourOnDim = ColourOnDim()
    flicker: Flicker = Flicker(kind="unknown")
    accepts: tuple[str, ...] = ()
    dims: bool = True
    dims_remotely: bool = False
    luminance_nit: Positive | None = None
    photometric_file: str = ""
    photometric_sha256: str = ""

    @property
    def mixes_colours(self) -> bool:
        """Whether it mixes red, green, blue and white to a colour."""
        return self.family == "LED RGBW"


class ModifierBeam(msgspec.Struct, frozen=True, kw_only=True):
    """What a modifier makes of the light it is given.

    passes_share: of that light, what leaves its front; shape "unchanged": the beam stays as it is;
    beam_angle_rad: None where the shape says it (unchanged, matte, all round).
    """

    name: str = "fixed"
    passes_share: Share
    shape: Literal["focused", "flat", "matte", "all round", "unchanged"]
    beam_angle_rad: FullAngle | None = None


class Modifier(Item, tag="modifier", tag_field="kind", frozen=True, kw_only=True):
    """What stands before a head and makes another source of it.

    takes: what passes_share is a share of: "head", all that the bare head gives (modifiers on its
    mount), or "beam", what leaves it as it is used (frames, boards). loss_stops: at the subject
    against the head's own 55° reflector, where practice has a figure.
    """

    form: str
    takes: Literal["head", "beam"]
    mount: str
    opening: Opening | None = None
    beams: tuple[ModifierBeam, ...]
    cutoff_rad: FullAngle | None = None
    loss_stops: AnyNumber | None = None
    weight_kg: NotNegative
    fits_power_w: Positive | None = None


class Gel(Item, tag="gel", tag_field="kind", frozen=True, kw_only=True):
    """Coloured or grey film: mired added, green (+) or magenta (−) in CC, stops lost on its light.

    film: the film of the spectrum package that its figures are from, "" where they are its own;
    an accent colour's shift says little, its film's curve all.
    """

    family: str
    shift_mired: AnyNumber = 0.0
    green_cc: AnyNumber = 0.0
    loss_stops: NotNegative
    film: str = ""
    spread_mired: NotNegative = 0.0
    roll_width_m: Positive = 1.22


class Fabric(Item, tag="fabric", tag_field="kind", frozen=True, kw_only=True):
    """Diffusion, by what becomes of light that meets it square: the rest is absorbed.

    scatter_rad: full angle at half intensity of a narrow beam's scattered part; loss_stops: at the
    subject, as practice has it, for a beam some 50° wide.
    """

    family: str
    straight_share: Share
    scattered_share: Share
    reflected_share: Share
    scatter_rad: FullAngle
    loss_stops: NotNegative
    shift_mired: AnyNumber = 0.0
    loss_when_hung_stops: NotNegative | None = None


class Grip(Item, tag="grip", tag_field="kind", frozen=True, kw_only=True):
    """What takes light away, sends it back or holds cloth: net, solid, bounce, frame, cutter.

    loss_stops: of light through it (nets, wires); reflected_share: of light on it; covers_share:
    of the beam (half wires: 0.5). shine: how it sends light back.
    """

    form: str
    width_m: Positive
    height_m: Positive
    loss_stops: NotNegative | None = None
    reflected_share: Share = 0.0
    shine: Literal["matte", "half glossy", "mirror"] = "matte"
    shift_mired: AnyNumber = 0.0
    covers_share: Share = 1.0
    weight_kg: NotNegative
    hands: Annotated[int, Meta(ge=1)] = 1


class Stand(Item, tag="stand", tag_field="kind", frozen=True, kw_only=True):
    """A stand or another support: how high it holds how much, on what footprint."""

    form: str
    lowest_m: NotNegative
    highest_m: Positive
    load_kg: Positive
    footprint_m: NotNegative
    mount: str
    weight_kg: NotNegative


class Lens(Item, tag="lens", tag_field="kind", frozen=True, kw_only=True):
    """A lens: a prime has both focal lengths alike; t_number as engraved, None on a photo lens.

    f_number: for depth of field; transmitted_share: of light; image_circle_m: None if not known.
    """

    focal_low_m: Positive
    focal_high_m: Positive
    f_number: Positive
    t_number: Positive | None = None
    transmitted_share: Share
    image_circle_m: Positive | None = None
    closest_m: Positive | None = None
    front_m: Positive | None = None
    weight_kg: NotNegative


class Filter(Item, tag="filter", tag_field="kind", frozen=True, kw_only=True):
    """Glass before the lens: neutral density, polariser, diffusion, colour; stops that it takes."""

    form: Literal["neutral density", "polariser", "diffusion", "graduated", "colour", "net"]
    loss_stops: NotNegative
    loss_low_stops: NotNegative | None = None
    loss_high_stops: NotNegative | None = None
    shift_mired: AnyNumber = 0.0
    veil_share: Share = 0.0


class Cable(Item, tag="cable", tag_field="kind", frozen=True, kw_only=True):
    """A cable, adaptor or box: what it carries. section_m2 is that of one conductor."""

    form: str
    length_m: NotNegative
    section_m2: Positive
    rating_amps: Positive
    voltage_v: Positive
    inlet: str
    outlets: tuple[str, ...]
    weight_kg: NotNegative


class Battery(Item, tag="battery", tag_field="kind", frozen=True, kw_only=True):
    """A battery: energy, voltage, and the most that it may be asked for."""

    energy_j: Positive
    voltage_v: Positive
    greatest_power_w: Positive
    usable_share: Share = 0.9
    weight_kg: NotNegative


class HazeMachine(Item, tag="haze machine", tag_field="kind", frozen=True, kw_only=True):
    """What makes air show beams: its fluid, power, and how long it needs."""

    fluid: Literal["oil", "glycol and water", "glycerine and water", "water"]
    power_w: Positive
    power_factor: Share = 1.0
    warm_up_s: NotNegative
    fills_m3_per_s: Positive
    residue: str
    weight_kg: NotNegative


CatalogueItem = (
    Fixture | Modifier | Gel | Fabric | Grip | Stand | Lens | Filter | Cable | Battery | HazeMachine
)

KINDS: Final[dict[str, type[Item]]] = {
    "fixture": Fixture,
    "modifier": Modifier,
    "gel": Gel,
    "fabric": Fabric,
    "grip": Grip,
    "stand": Stand,
    "lens": Lens,
    "filter": Filter,
    "cable": Cable,
    "battery": Battery,
    "haze machine": HazeMachine,
}


def kind_of(item: Item) -> str:
    """The kind of an item, one of KINDS."""
    return next(kind for kind, one in KINDS.items() if isinstance(item, one))


def provenance_of(item: Item, figure: str) -> str:
    """Where one figure of an item is from, by the figure's name in the record."""
    return item.provenance_of.get(figure) or item.provenance


def spread_of(item: Item, figure: str) -> float:
    """How far one figure may be off, up or down, in stops; the item's own where none is said."""
    return item.spread_of.get(figure, item.spread_stops)
