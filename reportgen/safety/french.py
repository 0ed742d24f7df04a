"""Words that call for a safety note, in French (from memory; no native speaker has reviewed them yet).

A word that English logs use for something harmless, such as "vent", stands only in a phrase.
"""

from __future__ import annotations

from reportgen.safety.phrases import Phrases

#: What may be joined to the front of a word, as a pattern.
PREFIX = ""
#: What people write where there is nothing to tell.
NOTHING = ("aucun", "aucune", "rien", "néant", "non", "rien à signaler")
#: What the unit is called, and what is tilted or moved to look at the ice.
UNIT = Phrases(stems=("frigo", "frigidaire", "congélateur", "armoire", "appareil"))
ICE = Phrases(stems=("bouteill", "glaçon", "récipient", "moule"), words=("bac", "bacs", "glace", "gobelet", "gobelets"))
WORDS = {
    "people-ill": Phrases(
        stems=(
            "malade",
            "malaise",
            "mal * tête",
            "maux * tête",
            "vertig",
            "étourdi",
            "évanoui",
            "inconscien",
            "intoxi",
            "asphyxi",
            "essouffl",
            "empoisonn",
            "migrain",
        ),
        words=("vomi", "vomir", "vomissement", "vomissements", "hôpital", "hôpitaux", "perdu connaissance"),
    ),
    "ammonia": Phrases(
        stems=("tache * jaun", "trace * jaun", "poudre * jaun", "dépôt * jaun", "croûte * jaun", "jaun * tache")
    ),
    "gas-smell": Phrases(
        stems=("odeur", "odorant", "puant", "œuf * pourri"), words=("pue", "puait", "ça sent", "sent le gaz", "sentait")
    ),
    "leak-words": Phrases(stems=("fuit", "siffl", "gaz * échapp", "échapp * gaz", "perte * gaz", "perd * gaz")),
    "flashback-words": Phrases(stems=("retour * flamme", "détonation", "claquement"), words=("boum",)),
    "soot-words": Phrases(
        stems=("flamme * jaun", "flamme * orang", "noirci"), words=("suie", "suies", "fumée", "fumées", "fume")
    ),
    "unattended-words": Phrases(
        stems=("sans surveillanc", "laiss * allumé", "rentr * maison", "endormi"),
        words=("sans personne", "personne sur place", "toute la nuit", "pendant la nuit"),
    ),
    "tilt-words": Phrases(
        stems=("inclin", "pench", "renvers", "bascul", "déplac"),
        words=("sur le côté", "à l'envers", "pas de niveau", "couché", "couchée"),
    ),
    "medicine-words": Phrases(stems=("antibiotiqu", "antiveni"), words=("sérum", "sérums")),
    "children-words": Phrases(
        stems=("enfant", "écolier", "écolière"),
        words=(
            "les élèves",
            "des élèves",
            "aux élèves",
            "avec élèves",
            "bébé",
            "bébés",
            "gamin",
            "gamins",
        ),
        places=("école", "scolaire"),
    ),
    "wind-words": Phrases(
        stems=("rafale", "bourrasque", "venteu", "tempête", "orage", "courant * air"),
        words=("du vent", "le vent", "vent fort", "grand vent", "coup de vent", "vents forts", "la brise"),
    ),
    "electricity-words": Phrases(
        stems=("électriqu", "débranch", "rebranch"), words=("prise de courant", "prise murale", "sur secteur")
    ),
    "maintenance-words": Phrases(
        stems=(
            "ouv * digesteur",
            "vid * digesteur",
            "nettoy * digesteur",
            "entrer * digesteur",
            "est entré * digesteur",
            "pench * digesteur",
            "curage * digesteur",
            "vid * gazomètre",
            "nettoy * gazomètre",
            "soulev * cloche",
            "soulev * gazomètre",
        )
    ),
    "condensate-words": Phrases(stems=("flamme * puls", "flamme * vacill", "eau * tuyau", "eau * conduite", "crachot")),
    "eaten-words": Phrases(
        stems=("boisson", "limonade", "poisson * glace"),
        words=("boire", "boit", "boivent", "mange", "mangé", "mangée", "mangés", "pour manger", "mangent", "jus"),
    ),
    "glass-words": Phrases(
        stems=("bouteille * éclat", "bouteille * cass", "éclat * bouteille", "plein * bord"),
        words=("verre", "verres", "bocal", "bocaux"),
    ),
    "disposal-words": Phrases(
        stems=("ferraill", "jeté * frigo", "jeté * réfrigérat", "jeté * congélat"),
        words=("à la décharge", "au rebut", "loquet", "loquets"),
    ),
    "sulfur-feed-words": Phrases(
        stems=("viande", "poisson", "œuf", "poulet", "abattoir", "fiente", "saucisse"),
        words=("sang", "tripes", "abats"),
    ),
}
