"""Words that call for a safety note, in Spanish (from memory; no native speaker has reviewed them yet)."""

from __future__ import annotations

from reportgen.safety.phrases import Phrases

#: What may be joined to the front of a word, as a pattern.
PREFIX = ""
#: What people write where there is nothing to tell.
NOTHING = ("ninguno", "ninguna", "nada", "ningún incidente", "sin incidentes")
#: What the unit is called, and what is tilted or moved to look at the ice.
UNIT = Phrases(
    stems=("nevera", "refrigerador", "frigorífic", "heladera", "congelador", "armario", "gabinete", "aparato"),
    words=("equipo",),
)
ICE = Phrases(
    stems=("bandeja", "botella", "hielo", "molde", "envase", "recipiente"), words=("vaso", "vasos", "bolsa", "bolsas")
)
WORDS = {
    "people-ill": Phrases(
        stems=(
            "enferm",
            "dolor * cabeza",
            "duele * cabeza",
            "dolía * cabeza",
            "jaqueca",
            "maread",
            "vértigo",
            "desmay",
            "inconscien",
            "intoxic",
            "asfixi",
            "envenen",
            "falta * aire",
        ),
        words=("mareo", "mareos", "mareó", "sin aliento", "vómito", "vómitos", "vomitó", "perdió el conocimiento"),
    ),
    "ammonia": Phrases(
        stems=(
            "amoni",
            "mancha * amarill",
            "polvo * amarill",
            "costra * amarill",
            "depósito * amarill",
            "residuo * amarill",
        ),
        not_in_appliance=("amoni",),
    ),
    "gas-smell": Phrases(
        stems=("olor", "apest", "hediond", "huevo * podrid"), words=("huele", "huelen", "olía", "oler", "olió", "hedor")
    ),
    "leak-words": Phrases(
        stems=("gas * escap", "pérdida * gas", "perd * gas", "pierd * gas", "silb"),
        words=("fuga", "fugas", "siseo", "escapes"),
    ),
    "flashback-words": Phrases(
        stems=("retroces * llama", "llama * retroced", "estall", "explotó", "explotar", "petarde", "detonaci"),
        words=("chasquido", "chasquidos"),
    ),
    "soot-words": Phrases(
        stems=("llama * amarill", "llama * naranja", "llama * anaranj", "tizn"),
        words=("hollín", "humo", "humos", "humeaba", "humeante"),
    ),
    "unattended-words": Phrases(
        stems=("sin vigila", "sin supervis", "desatendid", "dej * encendid"),
        words=("toda la noche", "durante la noche", "sin nadie", "nadie allí", "nadie presente", "a casa", "dormido"),
    ),
    "tilt-words": Phrases(
        stems=("inclin", "volca", "ladead", "desnivel"),
        words=("volcó", "de lado", "boca abajo", "movido", "movida", "movimos", "mover", "movió"),
    ),
    "medicine-words": Phrases(
        stems=("farmac", "antídoto"), words=("vacuna", "vacunas", "vacunación", "suero", "sueros", "antiveneno")
    ),
    "children-words": Phrases(
        stems=("alumn", "colegial", "escolares"),
        words=("niño", "niños", "niña", "niñas", "bebé", "bebés"),
        places=("escuela", "escolar", "colegi"),
    ),
    "wind-words": Phrases(
        stems=("viento", "ventos", "ventarr", "ráfaga", "tormenta", "corriente * aire"), words=("brisa", "brisas")
    ),
    "electricity-words": Phrases(stems=("enchuf", "desenchuf"), words=("toma de corriente", "corriente de la red")),
    "maintenance-words": Phrases(
        stems=(
            *(
                f"{verb} * {thing}"
                for verb in ("abrir", "abrimos", "abrió", "abiert", "vaci", "limpi", "entrar", "entró", "asom")
                for thing in ("digestor", "biodigestor")
            ),
            *("vaci * gasómetro", "limpi * gasómetro", "levant * campana", "levant * gasómetro"),
        )
    ),
    "condensate-words": Phrases(
        stems=("llama * puls", "llama * parpade", "agua * manguera", "agua * tuber", "chisporrot")
    ),
    "eaten-words": Phrases(
        stems=("bebid", "beber", "bebier", "limonada", "pescado * hielo", "hielo * pescado"),
        words=("bebió", "bebimos", "comer", "comido", "comió", "comieron", "comimos", "jugo", "jugos", "zumo", "zumos"),
    ),
    "glass-words": Phrases(
        stems=("botella * revent", "botella * rot", "botella * romp", "revent * botella", "lleno * borde"),
        words=("vidrio", "vidrios", "frasco", "frascos"),
    ),
    "disposal-words": Phrases(
        stems=(
            *("chatarra", "desguace"),
            *(
                f"{verb} * {thing}"
                for verb in ("tirar", "tiramos", "tirad", "botar", "botamos", "desechar", "desechad")
                for thing in ("nevera", "refrigera", "heladera")
            ),
        ),
        words=("pestillo", "pestillos", "cerrojo"),
    ),
    "sulfur-feed-words": Phrases(
        stems=("pescado", "huevo", "pollo", "matadero", "gallinaza", "salchich", "víscera"),
        words=("carne", "carnes", "sangre"),
    ),
}
