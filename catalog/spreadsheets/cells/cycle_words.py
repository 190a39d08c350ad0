"""The words of cycles in instructions and lists, folded; common practice, no source.

Each entry is spellings with ``|`` between them. Accents are off: the reader folds them.
"""

from __future__ import annotations

from collections.abc import Mapping

STEAM = "steam"

_METHODS = {
    STEAM: "steam|saturated steam|moist heat|autoclave|autoclaving|dampf|vapeur|vapor"
    "|vapeur d'eau|stoom|anga|vapore|vapor de agua",
    "eo": "eo|eto|eog|ethylene oxide|ethylenoxid|oxyde d'ethylene|oxido de etileno"
    "|ethyleenoxide|ossido di etilene",
    "h2o2": "h2o2|h2o2 vapour|h2o2 vapor|h2o2 plasma|h2o2 gas plasma|vh2o2|vhp|plasma|peroxide"
    "|hydrogen peroxide|hydrogen peroxide vapour|hydrogen peroxide vapor|hydrogen peroxide plasma"
    "|hydrogen peroxide gas plasma|vaporized hydrogen peroxide|vaporised hydrogen peroxide"
    "|wasserstoffperoxid|peroxyde d'hydrogene|peroxido de hidrogeno|perossido di idrogeno",
    "ltsf": "ltsf|formaldehyde|low temperature steam formaldehyde|formaldehyd|formaldeido",
    "dry-heat": "dry heat|dry-heat|hot air|heissluft|trockene hitze|chaleur seche|calor seco",
}
METHOD_WORDS: Mapping[str, str] = {
    word: method for method, words in _METHODS.items() for word in words.split("|")
}
"""Every accepted spelling of a method, folded, to the method."""

AIR_REMOVAL: Mapping[str, str] = {
    "either": r"any air removal|gravity (?:or|/) ?(?:dynamic air removal|pre-?vac(?:uum)?)",
    "gravity": r"gravity(?:[ -]displacement)?|gravitation(?:s?verfahren)?|gravite|gravita"
    r"|gravedad|downward displacement|zwaartekracht",
    "dynamic": r"dynamic(?:[ -]air[ -]removal)?|dar|pre-? ?vac(?:uum)?"
    r"|high[ -]vac(?:uum)?|hi-?vac|sfpp|steam[ -]flush[ -]pressure[ -]pulse"
    r"|(?:fraktioniertes )?vor-?vakuum|fractionated (?:pre-?)?vacuum|pre-?vide|prevuoto|prevacio"
    r"|voorvacuum|porous load",
}
"""How air is removed: the rules' word, to its spellings."""

UNITS_OF_TIME = (
    "minutes?|minuten|minuti|minutos|mins?|mn|hours?|hrs?|heures?|stunden|std|uur|ore|horas?|h|m"
)
DRYING = (
    "dry(?:ing)?|dried|trocknen|trocknung|trockenzeit|sechage|secado|asciugatura|essiccazione|drogen"
    "|torkning"
)
AERATION = "aerat(?:e|ion|ing)|aired|beluftung|ausluftung|desorption|aireacion|aerazione"
LEAST = (
    "≥|>|minimum|minimal|mindestens|at least|no less than|not less than|au moins|al menos|almeno"
    "|min\\.?(?=\\s*[0-9])"
)
MOST = (
    "≤|<|maximum|maximal|max\\.?|at most|up to|no more than|not more than|hochstens"
    "|not exceed(?:ing)?"
)
NAMED = "cycle|programme?|programm|zyklus|prog\\.?|ciclo"
BETWEEN = "or|oder|ou|o|of|eller"
FILLERS = (
    "only|nur|uniquement|seulement|solo|exposure|expose|time|times|for|at|with|bei|fur|pendant"
    "|temp|temperature|sterili[sz](?:e|ation|ing)|full cycle|wrapped|hold(?:ing)?|minimum|and|und"
    "|followed by|then|exp|in|a|x|cycle|programme?|program|the|one"
)
