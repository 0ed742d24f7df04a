"""Words that call for a safety note, in groups with the note of each."""

from __future__ import annotations

from dataclasses import dataclass

from reportgen.message import Message, say


@dataclass(frozen=True)
class WordGroup:
    """Words that call for one note.

    Attributes
    ----------
    severity : str
    text : Message
    sources : tuple of str
    stems : tuple of str
        Found at the start of words, whatever the ending. The words of a phrase are stems each; ``*`` stands
        for up to two words.
    words : tuple of str
        Found as whole words and phrases only, because more common words begin alike.
    not_in_appliance : tuple of str
        Stems that name the kind of appliance in `cabinet.appliance` and mean nothing there.
    of_feed : bool
        True where the names of what was fed count, and nothing else.
    of_unit : bool
        True where the words count only beside a name of the unit and not of the ice: ice is tilted to see
        whether it is solid.
    places : tuple of str
        Stems that name a place where somebody is, and say no more than the address where the trial is at such a place.
        They count in its purpose and audience all the same.
    of_people : bool
        True where the words count in what is told of people and of the course of the trial, and not in what describes
        a thing.
    """

    severity: str
    text: Message
    sources: tuple[str, ...]
    stems: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    not_in_appliance: tuple[str, ...] = ()
    of_feed: bool = False
    of_unit: bool = False
    places: tuple[str, ...] = ()
    of_people: bool = False


#: By the code of the note; the words are English, and those of other languages stand in modules of their own. The first
#: three come before all other notes.
WORDS = {
    "people-ill": WordGroup(
        "stop",
        say(
            "Someone may have been taken ill: get everybody into fresh air and seek medical help. Headache, "
            "dizziness and nausea are signs of carbon monoxide and of hydrogen sulphide, so nothing is lit "
            "again until the cause is found."
        ),
        ("common-precautions",),
        stems=(
            "headach",
            "head ach",
            "dizz",
            "nause",
            "vomit",
            "unconscious",
            "unwell",
            "poison",
            "lightheaded",
            "light headed",
            "short * breath",
            "drows",
            "hospital",
            "ambulance",
        ),
        words=(
            "ill",
            "illness",
            "sick",
            "sickness",
            "fainted",
            "fainting",
            "felt faint",
            "queasy",
            "giddy",
            "passed out",
            "blacked out",
            "threw up",
        ),
    ),
    "ammonia": WordGroup(
        "stop",
        say(
            "Ammonia or a yellow stain points to a leak of the sealed cooling circuit: put out flames, "
            "leave, let air in, and do not use the unit again. In air, NIOSH sets {short} ppm over 15 "
            "minutes and holds {danger} ppm for dangerous to life.",
            short=35,
            danger=300,
        ),
        ("cooling-unit-contents", "niosh-osha-ammonia"),
        stems=(
            "ammoni",
            "leak * ammoni",
            "ammoni * leak",
            "yellow * stain",
            "yellow * powder",
            "yellow * crust",
            "yellow * deposit",
            "yellow * residue",
            "stain * yellow",
        ),
        words=("nh3",),
        not_in_appliance=("ammoni",),
    ),
    "gas-smell": WordGroup(
        "stop",
        say(
            "A smell of gas means that gas is escaping, and a smell that fades may mean that hydrogen "
            "sulphide has dulled the nose. Put out flames, touch no switch, leave, let air in, and close "
            "the gas only where the valve can be reached from open air."
        ),
        ("niosh-hydrogen-sulfide", "smell-fails", "common-precautions"),
        stems=("smell", "stink", "stench", "rotten egg", "reek"),
        words=("smelt", "stank", "stunk", "whiff", "odour", "odours", "odor", "odors"),
    ),
    "leak-words": WordGroup(
        "act",
        say(
            "The records speak of a leak. Find it with soapy water, never with a flame, and light nothing "
            "near the gas until it is tight."
        ),
        ("gtz-animal-husbandry", "common-precautions"),
        stems=("leak", "hiss", "gas escap", "escap * gas", "lost * gas", "losing * gas", "loss * gas", "lose * gas"),
    ),
    "flashback-words": WordGroup(
        "act",
        say(
            "A pop or a flame that strikes back means that air reached the gas, or that the gas came too "
            "slowly for the burner. Shut the valve, find the cause, and have a flame arrester close to the "
            "burner."
        ),
        ("gas-carrying-parts", "harris-biogas-safety"),
        stems=(
            "flashback",
            "flash * back",
            "backfir",
            "back fir",
            "lit back",
            "light back",
            "strik back",
            "struck back",
            "burn back",
            "explos",
            "explod",
        ),
        words=("pop", "pops", "popped", "popping", "bang", "bangs", "banged"),
    ),
    "soot-words": WordGroup(
        "act",
        say(
            "Soot, smoke or a yellow flame shows gas burning with too little air, which makes carbon "
            "monoxide. Have burner and flue cleaned and checked by a fitter before the next run."
        ),
        ("cpsc-absorption-refrigerators", "common-precautions"),
        stems=("yellow flame", "orange flame", "flame * yellow", "flame * orange", "yellow tip", "smok"),
        words=("soot", "sooty", "sooted", "sooting"),
    ),
    "unattended-words": WordGroup(
        "act",
        say(
            "The records speak of a burner with nobody by it. A flame that goes out leaves raw gas flowing, "
            "so somebody stays within reach of the valve, or a flame-failure device shuts it."
        ),
        ("gtz-animal-husbandry", "common-precautions"),
        stems=(
            "unattend",
            "overnight",
            "over night",
            "left running",
            "left burning",
            "nobody there",
            "no one there",
            "went home",
            "unsupervis",
        ),
        words=("asleep",),
    ),
    "tilt-words": WordGroup(
        "know",
        say(
            "The records speak of the unit being tilted or moved. An absorption unit that runs out of level "
            "can be ruined; stand it upright and level, and give it time to settle before lighting."
        ),
        ("level-operation",),
        stems=("tilt", "transport", "laid down", "upside down", "not level", "out of level", "uneven"),
        words=("moved", "on its side", "tipped", "tipped over", "knocked over", "fell over"),
        of_unit=True,
    ),
    "medicine-words": WordGroup(
        "act",
        say(
            "Vaccines, insulin and other medicines need storage that was tested for them; a converted "
            "refrigerator and the figures of this report are no ground for keeping any."
        ),
        ("common-precautions",),
        stems=("vaccin", "insulin", "medic", "antibiotic", "antivenom"),
        words=("drug", "drugs"),
    ),
    "children-words": WordGroup(
        "act",
        say(
            "Children were or will be near. Mark a line that they stay behind, guard what is hot, and let "
            "one adult have nothing to do but stand by the gas valve."
        ),
        ("gtz-biogas-digest", "common-precautions"),
        stems=("child", "schoolchild", "schoolboy", "schoolgirl", "pupil", "toddler"),
        words=("kid", "kids", "baby", "babies", "school class", "school classes", "school trip"),
        places=("school",),
        of_people=True,
    ),
    "wind-words": WordGroup(
        "know",
        say(
            "Wind blows flames out and pushes flue gas back. Shelter the burner without closing off its "
            "air, and keep hoses short and the holder shaded and tied down."
        ),
        ("gtz-animal-husbandry", "common-precautions"),
        stems=("breez", "draught"),
        words=(
            "wind",
            "winds",
            "windy",
            "windier",
            "windblown",
            "gust",
            "gusts",
            "gusty",
            "gusting",
            "gusted",
            "draft",
            "drafts",
            "drafty",
            "storm",
            "storms",
            "stormy",
        ),
    ),
    "electricity-words": WordGroup(
        "know",
        say(
            "Electricity and gas meet on this appliance or near it. Unplug it while it runs on gas, and "
            "keep switches, relays and loose contacts away from gas, for any of them can spark."
        ),
        ("harris-biogas-safety",),
        stems=("electric", "unplug", "12 volt", "24 volt", "three way", "two way", "3 way", "2 way"),
        words=(
            "mains",
            "plug",
            "plugs",
            "plugged",
            "socket",
            "12 v",
            "12v",
            "24 v",
            "24v",
            "110 v",
            "110v",
            "120 v",
            "120v",
            "220 v",
            "220v",
            "230 v",
            "230v",
            "240 v",
            "240v",
        ),
    ),
    "maintenance-words": WordGroup(
        "act",
        say(
            "The records speak of work on digester or holder. Nobody enters or leans into either, not even to help: "
            "the gas in it can fell a person within a few breaths."
        ),
        ("harris-biogas-safety", "common-precautions"),
        stems=(
            "open * digester",
            "empt * digester",
            "clean * digester",
            "enter * digester",
            "climb * digester",
            "lean * digester",
            "empt * holder",
            "clean * holder",
            "lift * bell",
            "desludg",
            "scum * remov",
        ),
    ),
    "condensate-words": WordGroup(
        "know",
        say(
            "Water in a hose makes the flame pulse and can put it out. Let hoses fall without a sag, with a water trap "
            "at the lowest place."
        ),
        ("gtz-animal-husbandry", "common-precautions"),
        stems=("condens", "puls * flame", "flame * puls", "water * hose", "water * pipe", "sputter"),
    ),
    "eaten-words": WordGroup(
        "act",
        say(
            "The records speak of eating or drinking. Freezing does not disinfect, so only ice of potable water from "
            "clean containers is eaten, put in a drink or laid on food."
        ),
        ("potable-ice", "common-precautions"),
        stems=("drink", "drank", "lemonade", "juice", "sorbet", "cool * fish", "lay * fish", "laid * fish"),
        words=("eat", "eats", "eaten", "ate", "eating"),
    ),
    "glass-words": WordGroup(
        "know",
        say(
            "Water grows by about {growth} % as it freezes and bursts a full glass or rigid container. Leave head "
            "space, or freeze in something that gives way.",
            growth=9,
        ),
        ("iapws-ice", "common-precautions"),
        stems=(
            "glass bottle",
            "glass jar",
            "glass contain",
            "jam jar",
            "burst * bottle",
            "bottle * burst",
            "crack * bottle",
        ),
        words=("glass", "glasses", "brim full", "full to the brim"),
    ),
    "disposal-words": WordGroup(
        "know",
        say(
            "A cabinet that is thrown away or stands about can trap a child behind its latch. Take the door off, and "
            "leave the circuit to somebody licensed to empty it."
        ),
        ("door-removal", "common-precautions"),
        stems=(
            "scrapyard",
            "disposal",
            "disposed",
            "disposing",
            "dump * fridg",
            "dump * refrigerat",
            "throw * fridg",
            "thrown * away",
        ),
        words=("latch", "latches", "junk"),
    ),
    "sulfur-feed-words": WordGroup(
        "know",
        say(
            "Feed rich in protein, such as meat, fish or eggs, makes more hydrogen sulphide. Filter the gas, let air "
            "through, and never sniff at it."
        ),
        ("sulfur-in-feed", "niosh-hydrogen-sulfide"),
        stems=("meat", "chicken", "sausage", "slaughter", "manure of poultry", "chicken manure"),
        words=("fish", "egg", "eggs", "fish guts", "offal", "blood"),
        of_feed=True,
    ),
}
