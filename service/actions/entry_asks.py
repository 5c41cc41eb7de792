"""What people may write down about a batch, with its limits."""

from typing import Annotated, Literal

from pydantic import Field, model_validator

from service.actions.wire import Ask, Instant, Name, Number, Text
from service.brewing.tasting import Fault

Positive = Annotated[Number, Field(gt=0)]
Grams = Annotated[Number, Field(gt=0, le=100_000)]
Share = Annotated[Number, Field(ge=0, le=1)]

Sight = Literal[
    "foam-up",
    "foam-fallen",
    "airlock-busy",
    "airlock-still",
    "clear",
    "skin",
    "smells-of-butter",
    "smells-clean",
]


class NewReading(Ask):
    """A direct measure of gravity; which members belong to it depends on `by`. `at` is now unless said."""

    at: Instant | None = None
    by: Literal["hydrometer", "refractometer", "weight", "limit-jar"] = "hydrometer"
    sg: Number | None = None
    plato: Number | None = None
    sample_c: Number = 20.0
    instrument_c: Number = 20.0
    zero_error_pt: Number = 0.0
    degassed: bool = True
    brix: Number | None = None
    wort_factor: Number = 1.04
    kg: Number | None = None


class NewNote(Ask):
    """A few words."""

    at: Instant | None = None
    text: Text


class NewSighting(Ask):
    """Something seen or smelled."""

    at: Instant | None = None
    what: Sight


class NewAddition(Ask):
    """Something put into the beer; it changes what ferments."""

    at: Instant | None = None
    what: Name
    mass_g: Grams
    extract_share: Share = 0.0
    fermentable_share: Share = 1.0
    water_l: Annotated[Number, Field(ge=0, le=1000)] = 0.0


class Unit(Ask):
    """Packages of one kind and size."""

    kind: Literal["bottle", "keg"]
    size_l: Annotated[Number, Field(gt=0, le=1000)]
    count: Annotated[int, Field(strict=True, ge=1, le=10_000)] = 1
    material: Name | None = None


class NewPackaging(Ask):
    """What the beer went into, and the sugar used."""

    at: Instant | None = None
    units: Annotated[list[Unit], Field(min_length=1, max_length=50)]
    sugar: Name | None = None
    sugar_g: Annotated[Number, Field(ge=0, le=100_000)] | None = None

    @model_validator(mode="after")
    def _sugar_is_named(self) -> "NewPackaging":
        if self.sugar_g and self.sugar is None:
            raise ValueError("sugar_g needs sugar beside it")
        return self


class NewSqueeze(Ask):
    """The witness bottle, a soft plastic one filled with the others: is it firm?"""

    at: Instant | None = None
    firm: Annotated[bool, Field(strict=True)]


class NewOpening(Ask):
    """The gravity of a bottle that was opened, its gas stirred out; exactly one of sg and plato."""

    at: Instant | None = None
    sg: Number | None = None
    plato: Number | None = None
    sample_c: Number = 20.0
    instrument_c: Number = 20.0
    zero_error_pt: Number = 0.0
    degassed: bool = True


class NewTasting(Ask):
    """How it tastes: words, faults by their names, or both."""

    at: Instant | None = None
    words: Text | None = None
    faults: Annotated[list[Fault], Field(max_length=len(Fault))] = Field(default_factory=list)

    @model_validator(mode="after")
    def _says_something(self) -> "NewTasting":
        if not self.faults and not (self.words or "").strip():
            raise ValueError("needs words, faults or both")
        if len(set(self.faults)) != len(self.faults):
            raise ValueError("names a fault twice")
        return self


ASKS: dict[str, type[Ask]] = {
    "readings": NewReading,
    "notes": NewNote,
    "sightings": NewSighting,
    "additions": NewAddition,
    "packagings": NewPackaging,
    "squeezes": NewSqueeze,
    "openings": NewOpening,
    "tastings": NewTasting,
}
