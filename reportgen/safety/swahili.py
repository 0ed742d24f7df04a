"""Words that call for a safety note, in Swahili (from memory; no native speaker has reviewed them yet).

Who does something and when stands in front of a verb, so that its root is looked for.
"""

from __future__ import annotations

from reportgen.safety.phrases import Phrases

#: What may be joined to the front of a word, as a pattern.
PREFIX = ""
#: What people write where there is nothing to tell.
NOTHING = ("hakuna", "hapana", "hamna")
#: What the unit is called, and what is tilted or moved to look at the ice.
UNIT = Phrases(stems=("friji", "jokofu", "friza", "kabati", "mashine"))
ICE = Phrases(stems=("barafu",), words=("trei", "chupa", "chombo", "vyombo", "mfuko", "mifuko", "kikombe", "vikombe"))
WORDS = {
    "people-ill": Phrases(
        stems=("mgonjwa", "wagonjwa", "ugonjwa", "kizunguzungu", "kichefuchefu", "hospitali", "sumu"),
        words=("maumivu ya kichwa", "bila fahamu"),
        roots=("tapika", "zimia", "zirai", "poteza fahamu", "umwa kichwa", "ugua", "kichwa * uma", "kichwa kinauma"),
    ),
    "ammonia": Phrases(
        stems=("doa * njano", "doa * manjano", "madoa * njano", "madoa * manjano", "unga * njano", "unga * manjano")
    ),
    "gas-smell": Phrases(stems=("harufu", "uvundo", "mayai viza", "mayai * oza"), roots=("nuka", "nukia")),
    "leak-words": Phrases(
        words=("gesi inatoka", "gesi ilitoka", "gesi inapotea", "gesi ilipotea"), roots=("vuja", "vuji")
    ),
    "flashback-words": Phrases(
        words=("moto umerudi", "moto ulirudi", "moto ukarudi", "moto unarudi"), roots=("lipuk", "kishindo")
    ),
    "soot-words": Phrases(
        stems=("masizi", "moto * njano", "moto * manjano", "mwali * njano", "mwali * manjano", "moto * machungwa"),
        words=("moshi",),
    ),
    "unattended-words": Phrases(
        stems=("bila mtu", "bila uangalizi", "bila kusimami", "bila ulinzi"),
        words=("usiku kucha", "usiku mzima", "hakuna mtu", "hapakuwa na mtu"),
        roots=("melala", "lilala", "rudi nyumbani", "enda nyumbani"),
    ),
    "tilt-words": Phrases(
        words=("juu chini", "kwa ubavu", "imeinama", "limeinama", "kimeinama"),
        roots=("inamish", "hamish", "safirish", "anguka"),
    ),
    "medicine-words": Phrases(stems=("chanjo",), words=("dawa", "madawa")),
    "children-words": Phrases(stems=("mwanafunzi", "wanafunzi"), words=("mtoto", "watoto"), places=("shule", "skuli")),
    "wind-words": Phrases(stems=("upepo", "dhoruba", "tufani")),
    "electricity-words": Phrases(words=("umeme", "plagi", "soketi", "waya", "nyaya")),
    "maintenance-words": Phrases(
        roots=(
            "safish * mtambo",
            "safish * tanki",
            "fungu * mtambo",
            "ingi * mtambo",
            "ingi * tanki",
            "ondo * tope",
            "inu * kengele",
        )
    ),
    "condensate-words": Phrases(stems=("maji * bomba", "maji * mpira"), words=("moto unarukaruka", "moto unapepea")),
    "eaten-words": Phrases(
        stems=("kinywaji", "vinywaji", "juisi", "sharubati", "limonadi"),
        words=("kula", "walikula", "tulikula", "wamekula", "samaki kwenye barafu"),
        roots=("kunyw", "mekunywa"),
    ),
    "glass-words": Phrases(
        words=("kioo", "vioo", "glasi"), roots=("chupa * pasuk", "chupa imepasuk", "chupa ilipasuk")
    ),
    "disposal-words": Phrases(
        words=("chuma chakavu", "vyuma chakavu", "komeo", "kitasa"), roots=("tupa friji", "tupa jokofu", "tupwa")
    ),
    "sulfur-feed-words": Phrases(words=("nyama", "samaki", "yai", "mayai", "kuku", "damu", "machinjio", "utumbo")),
}
