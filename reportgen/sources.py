"""What the program's figures rest on, and how each of these is known to us."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

#: How a source is known: read (in the original or in a restatement, which the text then says), recomputed
#: with an independent library, remembered but not looked up, customary without a source, or our own choice.
Known = Literal["read", "computed", "from memory", "common practice, no source", "ours"]
KNOWN: tuple[Known, ...] = get_args(Known)


@dataclass(frozen=True)
class Source:
    """A standard, book, paper or choice that figures rest on.

    Attributes
    ----------
    key : str
        Short name by which it is cited.
    text : str
        What it is and what it is used for here, in our words.
    known : str
        How we know it; one of `KNOWN`.
    """

    key: str
    text: str
    known: Known


_ALL = (
    # water, gas, heat
    Source(
        "iapws-if97",
        "IAPWS R7-97(2012), industrial formulation for water and steam, equation 30: vapour pressure of "
        "water in wet gas. Agrees with an independent library and with the verification values of its "
        "Table 35.",
        "computed",
    ),
    Source(
        "iapws-95",
        "IAPWS R6-95(2018), formulation for water: enthalpy of liquid water, by our own fit.",
        "computed",
    ),
    Source(
        "iapws-ice",
        "IAPWS R10-06(2009), equation of state of ice: enthalpy and density of ice and, together with "
        "IAPWS-95, the heat of fusion, by our own fit.",
        "computed",
    ),
    Source(
        "iso-2533",
        "ISO 2533:1975, standard atmosphere: air pressure from altitude where no barometer was read.",
        "computed",
    ),
    Source(
        "iso-6976",
        "ISO 6976:2016, Table 3: gross heat of combustion of methane and heat of condensation of water, "
        "read in a public restatement; taken at 0 °C, per volume of ideal gas at 0 °C and 101.325 kPa.",
        "read",
    ),
    Source(
        "normal-conditions",
        "DIN 1343 normal state, 0 °C and 101.325 kPa, dry: the standard state of every volume here. ISO "
        "13443 meters natural gas at 15 °C instead, where the same gas takes up 5.5 % more room. Read in "
        "a restatement.",
        "read",
    ),
    Source("codata-2018", "CODATA 2018, exact Avogadro and Boltzmann constants: molar volume.", "computed"),
    # uncertainty
    Source(
        "jcgm-100",
        "JCGM 100:2008, guide to the expression of uncertainty: limits of error as rectangular "
        "distributions, combination, coverage. Clause numbers from memory; its worked examples come out "
        "when recomputed.",
        "from memory",
    ),
    Source(
        "jcgm-101",
        "JCGM 101:2008, propagation of distributions by Monte Carlo: figures marked as simulated.",
        "from memory",
    ),
    # freezing and refrigeration
    Source(
        "plank",
        "Plank's equation for freezing time, with the shape factors of textbooks of food engineering: a "
        "lower bound on the time to solid ice.",
        "read",
    ),
    Source(
        "ice-conductivity",
        "OpenStax, University Physics, volume 2, section 1.6: thermal conductivity of ice, 2.2 W/(m K).",
        "read",
    ),
    Source(
        "absorption-limit",
        "Reversible limit of a refrigerator driven by heat. The equation was read in an open note on "
        "absorption systems; Cengel and Boles, Thermodynamics, chapter 11, gives an equal form, and its "
        "examples come out when recomputed.",
        "read",
    ),
    Source(
        "small-absorption-units",
        "Coefficient of performance of 0.1 to 0.3 for small diffusion-absorption units: reviews such as "
        "Srikhirin et al., Renewable and Sustainable Energy Reviews 5 (2001) 343.",
        "from memory",
    ),
    Source(
        "measured-absorption-unit",
        "Najjaran, Freeman, Ramos and Markides, Applied Energy 256 (2019) 113899: 0.11 to 0.26 measured "
        "on a unit of about 100 W. Read in a note that cites it.",
        "read",
    ),
    Source(
        "star-temperatures",
        "Regulation (EU) 2019/2016, Annex IV, Table 3: frozen compartments at 0, -6, -12 and -18 °C, the "
        "thresholds timed here.",
        "read",
    ),
    # digestion
    Source(
        "buswell-mueller",
        "Buswell and Mueller 1952: methane and carbon dioxide from elemental composition. Equation read "
        "in a restatement; its printed example for a fat comes out when recomputed.",
        "read",
    ),
    Source(
        "boyle",
        "Boyle 1976: the same with nitrogen and sulphur. Equation read in a restatement.",
        "read",
    ),
    Source(
        "first-order-digestion",
        "Thesis on first-order rates for food waste, batch against daily feeding: 0.09 to 0.30 per day, "
        "0.22 per day in thirteen batch reactors. Only the abstract was read.",
        "read",
    ),
    Source(
        "methane-content",
        "Bond and Templeton, Energy for Sustainable Development 15 (2011) 347: biogas with 50 to 70 % "
        "methane; guidance on biogas pipework says 45 to 70 %. Only abstracts were read.",
        "read",
    ),
    # readings
    Source(
        "iode-flags",
        "IODE, the ocean data exchange of IOC-UNESCO: quality flags 1 good, 2 not evaluated, 3 questionable, 4 bad, "
        "9 missing. Here 3 is kept out of fits, 4 out of all figures.",
        "read",
    ),
    # safety
    Source(
        "methane-limits-us",
        "Methane in air burns from 5 to 15 % by volume, by United States practice; read in restatements.",
        "read",
    ),
    Source(
        "methane-limits-iec",
        "IEC 60079-20-1, Annex B: methane in air burns from 4.4 % by volume (read in a restatement) to "
        "17 % (from memory).",
        "from memory",
    ),
    Source(
        "niosh-hydrogen-sulfide",
        "NIOSH: hydrogen sulphide at most 10 ppm over 10 minutes, dangerous to life at 100 ppm; as "
        "tabled in Nitric Oxide 71 (2017) 1, Table 3.",
        "read",
    ),
    Source(
        "osha-hydrogen-sulfide",
        "OSHA, 29 CFR 1910.1000, Table Z-2: hydrogen sulphide ceiling 20 ppm, 10-minute peak 50 ppm; as "
        "tabled in Nitric Oxide 71 (2017) 1, Table 3.",
        "read",
    ),
    Source(
        "who-carbon-monoxide",
        "WHO guidelines for carbon monoxide indoors: 100 mg/m3 over 15 minutes, 35 over 1 hour, 10 over "
        "8 hours (2010) and 4 over 24 hours (2021).",
        "from memory",
    ),
    Source(
        "niosh-osha-ammonia",
        "Ammonia: NIOSH 25 ppm over a working day, 35 ppm over 15 minutes, dangerous to life at 300 ppm; "
        "OSHA 50 ppm. Read in restatements.",
        "read",
    ),
    Source(
        "iso-23590",
        "ISO 23590:2020, household biogas systems below 5 kPa and 100 MWh a year: its scope leaves out "
        "the appliance that is connected, so a converted refrigerator is not covered.",
        "read",
    ),
    Source(
        "harris-biogas-safety",
        "P. Harris, Biogas safety: sparks and flames near gas, test flames, entering digesters, hygiene. "
        "Read; the cautions are in our words.",
        "read",
    ),
    Source(
        "gtz-animal-husbandry",
        "GTZ 1989, Biogas Plants in Animal Husbandry, sections 7.1 and 7.5: leak tests, attending the "
        "flame, shelter of burner and hoses. Only extracts were read.",
        "read",
    ),
    Source(
        "gtz-biogas-digest",
        "GTZ, Biogas Digest, volume 2, page 68: hot parts of gas appliances kept out of reach.",
        "read",
    ),
    Source(
        "gas-carrying-parts",
        "German Biogas Association, guidance on gas-carrying parts: flame arrester close to the burner. "
        "Only an extract was read.",
        "read",
    ),
    Source(
        "biogas-basics",
        "A community page on biogas safety basics: a holder drawn empty sucks in air; gas and air that mix.",
        "read",
    ),
    Source(
        "cpsc-absorption-refrigerators",
        "United States Consumer Product Safety Commission, 1998: warning of deaths by carbon monoxide "
        "from old gas absorption refrigerators with fouled burners.",
        "read",
    ),
    Source(
        "smell-fails",
        "Beauchamp and others 1984: the nose fails to notice hydrogen sulphide from about 100 ppm. Only "
        "a later paper that cites it was read.",
        "read",
    ),
    Source(
        "cooling-unit-contents",
        "A practitioner's page on absorption cooling units: ammonia, water, hydrogen and a chromate "
        "inhibitor under pressure; what to do when one leaks.",
        "read",
    ),
    Source(
        "level-operation",
        "A practitioner's page on absorption refrigerators: level, upright transport, and what running "
        "out of level does. Read in part.",
        "read",
    ),
    Source(
        "potable-ice",
        "Rules that ice in contact with food is made from potable water, as cited by Pawsey and Howard. "
        "Only an abstract was read.",
        "read",
    ),
    Source(
        "sulfur-in-feed",
        "Bioresource Technology 121 (2012) 419: feed poor in carbon for its sulphur makes gas rich in hydrogen "
        "sulphide. Only an abstract was read.",
        "read",
    ),
    Source(
        "chilled-food",
        "A dietetic association on chilled food: at most 4 °C, thrown away after 2 h in the warm, 1 h above 32 °C. "
        "Read; the 5 °C of the WHO are from memory.",
        "read",
    ),
    Source(
        "door-removal",
        "United States guidance on taking the doors off refrigerators before they are thrown away. Read.",
        "read",
    ),
    Source(
        "biogas-stove",
        "SSWM, Biogas combustion: 30 to 40 L of biogas bring a litre of water to the boil on a stove. Read; the state "
        "of the gas is not said there, so it is taken as read.",
        "read",
    ),
    # planning and advice
    Source(
        "refrigerator-gas-use",
        "Gas use of absorption refrigerators on biogas: SSWM, 30 to 75 L/h per 100 L of cabinet; GTZ 1993, about 83 "
        "L/h; "
        "Practical Action after FAO 1992, 144 L/h. Read; they disagree, and do not state the gas.",
        "read",
    ),
    Source(
        "stove-gas-use",
        "Gas use of household biogas stoves: SSWM, Biogas combustion, 200 to 450 L/h; GTZ 1993, about 300 L/h. Read; "
        "the "
        "state of the gas is not said there, so it is taken as read.",
        "read",
    ),
    Source(
        "start-of-cooling",
        "A trade article on absorption refrigerators: up to 4 h until they cool with full effect. Only an extract "
        "was read.",
        "read",
    ),
    Source(
        "food-waste-yield",
        "Zhang and others, Bioresource Technology 98 (2007) 929: 110 to 180 L of standard dry gas per kg of fresh "
        "food waste, "
        "reckoned by us from its abstract.",
        "read",
    ),
    Source(
        "fuel-heating-values",
        "IPCC 2006 guidelines, volume 2, Table 1.2: net calorific values of LPG, kerosene, charcoal and wood, with "
        "their 95 % "
        "ranges. That of wood was read, the others are from memory.",
        "from memory",
    ),
    Source(
        "cooking-service",
        "GTZ 1993, Criteria for the dissemination of biogas plants, 7.1: in cooking, 1 kg of charcoal is worth 0.5 "
        "m3 and 1 kg "
        "of firewood 0.2 m3 of biogas. Read; the gas is taken as read.",
        "read",
    ),
    Source(
        "planning-bands",
        "Our own bands for what nobody stated: share of the cooling that becomes ice, air in the cabinet, spread "
        "from run to "
        "run, start of the water, state of gas and air.",
        "ours",
    ),
    Source(
        "biogas-venting",
        "Bruun and others, Renewable and Sustainable Energy Reviews 33 (2014) 736: methane that small "
        "plants leak or vent can undo their benefit to the climate. Only an abstract was read.",
        "read",
    ),
    Source(
        "common-precautions",
        "Precautions customary with gas, hot appliances and visitors, stated without a source.",
        "common practice, no source",
    ),
    Source(
        "safety-thresholds",
        "Our own thresholds for a safety note: holder content, gas rate, time without a reading, rise of "
        "the cabinet, fall with the flame off, methane below 50 %, hydrogen sulphide in the gas.",
        "ours",
    ),
)

#: Every source by its key, in the order of a reference list.
SOURCES: dict[str, Source] = {source.key: source for source in _ALL}
