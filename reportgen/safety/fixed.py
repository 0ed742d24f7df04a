"""Safety notes that stand in every report, and what raises them."""

from __future__ import annotations

from reportgen.message import say
from reportgen.safety.note import SafetyNote
from reportgen.trial import Trial, sources_of

_EXPLOSIVE_GAS = SafetyNote(
    "explosive-gas",
    "know",
    say(
        "Biogas in air burns or explodes where methane makes up about {low} to {high} % of the mixture, and "
        "it spreads unevenly. Keep flames, sparks and cigarettes away from digester, holder and hoses, and "
        "let air through both high up and low down.",
        low=4.4,
        high=17,
    ),
    None,
    (),
    ("methane-limits-us", "methane-limits-iec", "harris-biogas-safety"),
)
_LEAK_TEST = SafetyNote(
    "leak-test",
    "know",
    say(
        "Joints, valves, hoses and holder are tested with soapy water each time before lighting. A leak is "
        "never looked for with a flame."
    ),
    None,
    (),
    ("gtz-animal-husbandry", "common-precautions"),
)
_FLASHBACK = SafetyNote(
    "flashback",
    "know",
    say(
        "A flame can run back through the hose to gas that holds air. A flame arrester belongs close to the "
        "burner, and no test flame is lit at the digester or the holder."
    ),
    None,
    (),
    ("gas-carrying-parts", "harris-biogas-safety"),
)
_FLAME_OUT = SafetyNote(
    "flame-out",
    "know",
    say(
        "When the flame goes out, raw gas flows on. Somebody stays by the burner, shuts the valve at once "
        "and lets the gas clear before lighting again; a flame-failure device shuts it by itself."
    ),
    None,
    (),
    ("gtz-animal-husbandry", "common-precautions"),
)
_CARBON_MONOXIDE = SafetyNote(
    "carbon-monoxide",
    "know",
    say(
        "A sooted, blocked or badly set burner makes carbon monoxide, which nobody can smell; old gas "
        "refrigerators have killed people in this way. Burn outdoors or with a flue that ends outdoors, "
        "keep burner and flue clean, and hang a carbon monoxide alarm near any burner under a roof."
    ),
    None,
    (),
    ("cpsc-absorption-refrigerators",),
)
_HYDROGEN_SULFIDE = SafetyNote(
    "hydrogen-sulfide",
    "know",
    say(
        "Raw biogas holds hydrogen sulphide, which poisons people and corrodes metal. The nose no longer "
        "notices it from about {fails} ppm, which NIOSH (as tabled in 2017) holds for dangerous to life, so "
        "never go by the smell.",
        fails=100,
    ),
    None,
    (),
    ("niosh-hydrogen-sulfide", "smell-fails"),
)
_NO_ENTRY = SafetyNote(
    "no-entry",
    "know",
    say(
        "Nobody enters or leans into a digester, a pit or a gasholder, not even to help. The gas in it can "
        "fell a person within a few breaths, and the rescuer after them."
    ),
    None,
    (),
    ("harris-biogas-safety",),
)
_SEALED_CIRCUIT = SafetyNote(
    "sealed-circuit",
    "know",
    say(
        "The cooling circuit is sealed and holds ammonia, water and hydrogen under pressure; it is never "
        "opened, drilled or heated with a torch. At a smell of ammonia or a yellow stain put out flames, "
        "leave, let air in, and do not use the unit again."
    ),
    None,
    (),
    ("cooling-unit-contents",),
)
_HOT_PARTS = SafetyNote(
    "hot-parts",
    "know",
    say(
        "Burner, flue and boiler burn skin at a touch and stay hot after the flame is out. Guard them, and "
        "keep children and visitors at a distance."
    ),
    None,
    (),
    ("gtz-biogas-digest", "common-precautions"),
)
_LEVEL = SafetyNote(
    "level-and-upright",
    "know",
    say(
        "An absorption unit works only level and upright, and running it out of level can ruin it for good. "
        "Carry it upright, and check it with a spirit level before lighting."
    ),
    None,
    (),
    ("level-operation",),
)
_WEATHER = SafetyNote(
    "weather",
    "know",
    say(
        "Outdoors, wind blows flames out and sun swells the gas. Shelter the burner without closing off its air, keep "
        "the holder shaded and tied down, and hoses short, out of the way and with a water trap."
    ),
    None,
    (),
    ("gtz-animal-husbandry", "common-precautions"),
)
_ELECTRICITY = SafetyNote(
    "electricity",
    "know",
    say(
        "An appliance that can also run on electricity is unplugged while it runs on gas. Switches, relays and loose "
        "contacts spark, so they stay away from gas."
    ),
    None,
    (),
    ("harris-biogas-safety",),
)
_DIGESTATE = SafetyNote(
    "digestate-hygiene",
    "know",
    say(
        "Waste and digestate carry germs. Wear gloves, wash hands, and keep their buckets, tools and "
        "grinder away from food, from the water to be frozen and from the ice."
    ),
    None,
    (),
    ("harris-biogas-safety", "common-precautions"),
)
_ICE_WATER = SafetyNote(
    "ice-water",
    "know",
    say(
        "Freezing does not disinfect. Ice that anyone eats, drinks or lays on food is made from potable "
        "water in clean containers, away from waste and digestate."
    ),
    None,
    (),
    ("potable-ice",),
)
_LOCAL_RULES = SafetyNote(
    "local-rules",
    "know",
    say(
        "Local codes, licensed gas fitters and the authority having jurisdiction decide what may be built "
        "and run, and go before anything said here. Standards for household biogas do not cover the "
        "connected appliance: ISO 23590, for systems below {pressure} kPa and {energy} MWh a year, leaves "
        "it out, a converted refrigerator with it.",
        pressure=5,
        energy=100,
    ),
    None,
    (),
    ("iso-23590",),
)


def fixed_notes(trial: Trial) -> list[SafetyNote]:
    """Return the notes that stand in every report of such a trial; what is not recorded raises them."""
    notes = [
        _EXPLOSIVE_GAS,
        _LEAK_TEST,
        _FLASHBACK,
        _FLAME_OUT,
        _carbon_monoxide(trial),
        _HYDROGEN_SULFIDE,
        _NO_ENTRY,
        _SEALED_CIRCUIT,
        _HOT_PARTS,
        _level(trial),
        _ELECTRICITY,
    ]
    if not trial.sheet.cabinet.indoors:
        notes.append(_WEATHER)
    if trial.feeds:
        notes.append(_DIGESTATE)
    if _water_was_frozen(trial):
        notes.append(_ice_water(trial))
    return notes


def lighting_notes() -> tuple[SafetyNote, ...]:
    """Return what everybody checks before lighting, whatever the trial, in the order of doing it."""
    return (_LEAK_TEST, _FLASHBACK, _CARBON_MONOXIDE, _FLAME_OUT, _EXPLOSIVE_GAS)


def deference() -> SafetyNote:
    """Return the note that stands last: local rules prevail."""
    return _LOCAL_RULES


def _carbon_monoxide(trial: Trial) -> SafetyNote:
    indoors = trial.sheet.cabinet.indoors
    is_measured = trial.column("carbon_monoxide") is not None
    if indoors is False:
        return _CARBON_MONOXIDE
    if indoors is None:
        return _CARBON_MONOXIDE.raised(
            "act",
            say("whether the burner stood indoors is not recorded, so it is taken to have"),
            ("trial.toml:cabinet.indoors",),
        )
    return _CARBON_MONOXIDE.raised(
        "act",
        say("the burner stood indoors, and carbon monoxide was logged")
        if is_measured
        else say("the burner stood indoors, and no carbon monoxide reading was logged"),
        ("trial.toml:cabinet.indoors",),
    )


def _level(trial: Trial) -> SafetyNote:
    checked = trial.sheet.cabinet.level_checked
    place = ("trial.toml:cabinet.level_checked",)
    if checked is None:
        return _LEVEL.raised("know", say("whether it stood level is not recorded"), place)
    return _LEVEL if checked else _LEVEL.raised("act", say("it was not checked to stand level"), place)


def _water_was_frozen(trial: Trial) -> bool:
    water = trial.sheet.water
    stated = (trial.placed_at, water.mass, water.ice_mass)
    return bool(trial.looks) or any(fact is not None for fact in stated)


def _ice_water(trial: Trial) -> SafetyNote:
    potable = trial.sheet.water.potable
    if potable is True:
        return _ICE_WATER
    reason = (
        say("whether the water was potable is not recorded; this ice is not for food or drink")
        if potable is None
        else say("the water was not potable; this ice is not for food or drink")
    )
    return _ICE_WATER.raised("act", reason, sources_of("trial.toml:water.potable"))
