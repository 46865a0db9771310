"""Customary units: land and weights whose size depends on the place.

One table, one row a meaning. A name with several rows is ambiguous: its place decides, or the
group is asked once. Sizes are exact where a definition in feet is known (1 ft² = 0.09290304 m²).

Source: the column `source`. Marks: "seen", "quoted", "from memory", "computed". No size here was
taken from one list only where two disagree: each reading has its own row.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

SQUARE_FOOT_M2 = Decimal("0.09290304")
"""Source: NIST SP 811, 1 ft = 0.3048 m exactly, squared."""


@dataclass(frozen=True, slots=True)
class Meaning:
    """One thing a unit's name can mean: `places` are ISO 3166 codes, of a country or a part of it.

    `unit` is the canonical name, `said` the name that members use, `size` how many `of` (an SI
    unit by its canonical name) one is. A place "*" is everywhere else.
    """

    said: str
    unit: str
    size: Decimal
    of: str
    places: tuple[str, ...]
    source: str
    mark: str


def _feet(said: str, unit: str, square_feet: str, places: str, source: str) -> Meaning:
    return _m2(said, unit, str(Decimal(square_feet) * SQUARE_FOOT_M2), places, source)


def _m2(said: str, unit: str, size: str, places: str, source: str) -> Meaning:
    where = tuple(places.split())
    return Meaning(said, unit, Decimal(size), "square_metre", where, source, "seen")


def _kg(said: str, unit: str, size: str, places: str, source: str) -> Meaning:
    return replace(_m2(said, unit, size, places, source), of="kilogram", mark="from memory")


def _remembered(said: str, unit: str, size: str, places: str, source: str) -> Meaning:
    return replace(_m2(said, unit, size, places, source), mark="from memory")


_DLR = "Department of Land Resources list, copy"
_STATES = "list of Indian land units by state (examboard.in)"
_NEPAL = "Nepal land measurement list (panchthar.dolrm.gov.np)"
_UN = "United Nations 1966 list (sizes.com/units/manzana)"

MEANINGS: tuple[Meaning, ...] = (
    # --- one meaning everywhere it is used --------------------------------------------------
    _feet("cent", "cent", "435.6", "IN LK", "landrecords.co.in"),
    _feet("cent_land", "cent", "435.6", "*", "landrecords.co.in"),
    _feet("decimal", "cent", "435.6", "IN BD", "charteredjournal (Bangladesh)"),
    _feet("guntha", "guntha", "1089", "IN PK", "accommodationtimes.com"),
    _feet("kanal", "kanal", "5445", "IN-PB IN-HR IN-JK PK", _STATES),
    _feet("marla", "marla", "272.25", "IN-PB IN-HR IN-JK PK", _STATES),
    _feet("ropani", "ropani", "5476", "NP", _NEPAL),
    _feet("aana", "aana", "342.25", "NP", _NEPAL),
    _feet("paisa", "paisa_land", "85.5625", "NP", _NEPAL),
    _feet("daam", "daam", "21.390625", "NP", _NEPAL),
    _feet("lessa", "lessa", "144", "IN-AS", "Bigha (Wikipedia), Assam"),
    _m2("feddan", "feddan", "4200", "EG SD", "Feddan (Wikipedia, after Lyons 1907)"),
    _m2("kirat", "kirat", "175", "EG SD", "Feddan (Wikipedia, after Lyons 1907)"),
    _m2("jerib", "jerib", "2000", "AF", "Jerib (Wikipedia copy)"),
    _m2("tarea", "tarea", "628.86", "DO", "charitylook; 900 vara² of 0.8359 m"),
    _remembered("rai", "rai", "1600", "TH", "Thai metric definition"),
    _remembered("ngan", "ngan", "400", "TH", "Thai metric definition"),
    _remembered("wah", "square_wah", "4", "TH", "Thai metric definition"),
    _remembered("mu", "mu", "666.66666666666666667", "CN", "15 mu are 1 ha by Chinese definition"),
    _feet("vigha", "bigha_gantari", "17424", "IN-GJ", _DLR),
    # --- the place decides ------------------------------------------------------------------
    _feet("bigha", "bigha_pucca", "27225", "IN-UP IN-BR IN-RJ IN-MP IN-HR IN-PB", _DLR),
    _feet("bigha", "bigha_gantari", "17424", "IN-RJ IN-GJ", _DLR),
    _feet("bigha", "bigha_bengal", "14400", "IN-WB IN-AS BD", _STATES),
    _feet("bigha", "bigha_bangladesh", "14520", "BD", "evisionbd, 33 decimals"),
    _feet("bigha", "bigha_himachal", "8712", "IN-HP IN-UT", f"{_STATES}; 968 yd²"),
    _feet("bigha", "bigha_uttarakhand", "8100", "IN-HP IN-UT", f"{_STATES}; 900 yd²"),
    _feet("bigha", "bigha_kachha", "9075", "IN-HP IN-UT IN-UP", f"{_STATES}; 1008.33 yd²"),
    _feet("bigha", "bigha_nepal", "72900", "NP", _NEPAL),
    _feet("katha", "katha_nepal", "3645", "NP", _NEPAL),
    _feet("katha", "katha_bengal", "720", "IN-WB BD", _STATES),
    _feet("katha", "katha_bangladesh", "726", "BD", "evisionbd, 1/20 of 33 decimals"),
    _feet("katha", "katha_assam", "2880", "IN-AS", "Bigha (Wikipedia), Assam"),
    _feet("katha", "katha_bihar", "1361.25", "IN-BR", "civilsir, Patna"),
    _feet("dhur", "dhur_nepal", "182.25", "NP", _NEPAL),
    _feet("dhur", "dhur_bihar", "68.0625", "IN-BR", "civilsir, 1/20 of a Patna katha"),
    _feet("kani", "kani_small", "17280", "BD", "rawnext 2013; another page prints 1619 m²"),
    _feet("kani", "kani_large", "17426.6", "BD", "unnamed page, 1619 m² rounded"),
    _m2("manzana", "manzana_central", "7000", "GT HN NI SV CR", f"{_UN}: 6972 to 7056"),
    _m2("manzana", "manzana_belize", "8353", "BZ", _UN),
    _m2("manzana", "manzana_argentina", "10000", "AR", _UN),
    _remembered("dunam", "dunam_metric", "1000", "IL PS JO LB SY TR", "Ottoman metric dunam"),
    _remembered("dunam", "dunam_iraq", "2500", "IQ", "Iraqi meshara"),
    _remembered("dunam", "dunam_cyprus", "1338", "CY", "Cypriot donum"),
    _remembered("timad", "timad", "2500", "ET", "a day's ploughing, about 1/4 ha"),
    _remembered("cuerda", "cuerda_40_vara", "1118", "GT", "40 × 40 vara of 0.836 m"),
    _remembered("cuerda", "cuerda_25_vara", "437", "GT", "25 × 25 vara of 0.836 m"),
    _remembered("cuerda", "cuerda_puerto_rico", "3930.4", "PR", "75 × 75 vara"),
    _remembered("alqueire", "alqueire_paulista", "24200", "BR-SP BR-PR BR-SC", "50 x 100 braças"),
    _remembered(
        "alqueire", "alqueire_mineiro", "48400", "BR-MG BR-RJ BR-GO BR-ES", "80 x 80 braças"
    ),
    _remembered("alqueire", "alqueire_do_norte", "27225", "BR-PA BR-AM BR-MA", "75 x 50 braças"),
    _remembered("fanega", "fanega_castilla", "6439.56", "ES", "576 square estadales"),
    _remembered("fanega", "fanegada_colombia", "6400", "CO", "80 x 80 m in practice"),
    # --- weights of the market --------------------------------------------------------------
    _kg("maund", "maund_india", "37.3242", "IN BD NP", "40 seer of 80 tola, British India"),
    _kg("maund", "maund_metric", "40", "PK", "metric maund of 40 kg"),
    _kg("seer", "seer", "0.93310", "IN BD NP PK", "80 tola, British India"),
    _kg("tola", "tola", "0.0116638", "IN BD NP PK", "180 grains"),
    _kg("quintal", "quintal_metric", "100", "*", "metric quintal"),
    _kg("quintal", "quintal_castilian", "46.04", "GT HN NI SV CR CO", "100 Castilian pounds"),
    _kg("arroba", "arroba_castilian", "11.5", "CO EC GT HN NI SV CR ES", "1/4 Castilian quintal"),
    _kg("arroba", "arroba_brazil", "15", "BR", "Brazilian metric arroba"),
)
