"""What can be read in two ways, row by row: read one way, or asked, never guessed silently.

How each is read by itself, before anyone asks what it is for, stands in
test_ambiguous_readings.py.
"""

import pytest

from bot.language import tongues, understand
from bot.language.examples import hearing, written

HEARD = tongues()

ROWS = [
    # 1:3 is a ratio, unless it is said as a time.
    ("en", "leaf spray 1:3 for 20 l", "mix mix=20_litre ratio=1:3 use=leaf"),
    ("en", "remind me at 1:30", "settings hour=01:30"),
    # 1 in 3 and 1/3 are asked once: 1+2 or 1+3. A part before a unit is a part.
    ("en", "leaf spray 1 in 3", "? ratio doubt.which_ratio"),
    ("en", "leaf spray one in three", "? ratio doubt.which_ratio"),
    ("en", "leaf spray 1/3", "? ratio doubt.which_ratio"),
    ("en", "1/3", "? ratio doubt.which_ratio"),
    ("en", "1/4 litre leaf", "mix mix=0.25_litre use=leaf"),
    # 1 to 3 is a ratio; with a unit it is a range, and both ends are answered.
    ("en", "leaf 20 l 1 to 3", "mix mix=20_litre ratio=1:3 use=leaf"),
    ("en", "leaf spray 2 to 3 l", "mix mix=2_litre..3_litre use=leaf"),
    ("en", "leaf spray 2-3 litres", "mix mix=2_litre..3_litre use=leaf"),
    # Half a tank is a count; how much that is, the group's own tank says.
    ("en", "half a tank leaf", "mix tanks=0.5 use=leaf"),
    # 200l is litres; 2001 may be.
    ("en", "leaf spray 200l", "mix mix=200_litre use=leaf"),
    ("en", "leaf spray 2001", "? mix doubt.which_reading"),
    # Units of land that differ by place are asked.
    ("en", "soil drench 2 bigha", "? area doubt.which_unit"),
    ("es", "suelo 2 manzanas", "? area doubt.which_unit"),
    # A mark before three digits: by the language, and asked where it may be the other.
    ("es", "foliar 1,5 l", "mix mix=1.5_litre use=leaf"),
    ("en", "leaf spray 1,500 l", "? mix doubt.which_reading"),
    ("es", "foliar 1.500 l", "? mix doubt.which_reading"),
    # The day is said first.
    ("en", "started 1/6", "start on=2025-06-01"),
    # 5 days: an age, an interval, a day to come; bare, it is asked.
    ("en", "spraying beans 5 days", "? every doubt.every_or_in"),
    ("en", "spraying beans every 5 days", "rounds crop=bean every=5_day"),
    # A dozen is twelve.
    ("en", "soil a dozen plants 250 ml each", "mix per=250_millilitre/1_plant plants=12 use=soil"),
    # An ounce of what is dry is a mass.
    ("en", "2 oz copper", "copper amount=2_ounce"),
    # One letter is a tonne only of dung and compost; c is a temperature near the warmth.
    ("en", "heap 2 t cow dung", "heap action=mix materials=cow_manure+2_tonne"),
    ("en", "28 c in the shed", "temperature temperature=28_degree_celsius"),
    ("en", "1 m", "! doubt.for_what"),
    # An acre, and an are only where that is a word.
    ("en", "leaf spray 2 acre", "mix area=2_acre use=leaf"),
    ("fr", "sol 5 ares", "mix area=5_are use=soil"),
    # 4 and 2 are also typed for words.
    ("en", "leaf spray 4 tomato", "mix crop=tomato use=leaf"),
    ("en", "drench 300 tomato", "mix crop=tomato plants=300 use=soil"),
    # One word for yesterday and tomorrow: what was done was yesterday.
    ("hi-Latn", "kal hilaya", "stir on=2026-03-03"),
    ("hi", "कल हिलाया", "stir on=2026-03-03"),
    # The Swahili day begins at dawn.
    ("sw", "nikumbushe saa 12 asubuhi", "settings hour=06:00"),
    # A size is no count.
    ("en", "started 200 l barrel", "start size=200_litre"),
    # The same in Hindi, Hindi in Latin letters and Swahili.
    ("hi", "पत्ती स्प्रे 1:3 20 लीटर", "mix mix=20_litre ratio=1:3 use=leaf"),
    ("sw", "majani 1:3 lita 20", "mix mix=20_litre ratio=1:3 use=leaf"),
    ("sw", "nikumbushe saa 1:30 asubuhi", "settings hour=07:30"),
    ("hi", "पत्ती स्प्रे 1/3", "? ratio doubt.which_ratio"),
    ("hi-Latn", "patti spray 1/3", "? ratio doubt.which_ratio"),
    ("sw", "majani 1/3", "? ratio doubt.which_ratio"),
    ("hi", "पत्ती 1/4 लीटर", "mix mix=0.25_litre use=leaf"),
    ("sw", "majani lita 1/4", "mix mix=0.25_litre use=leaf"),
    ("hi", "पत्ती 2-3 लीटर", "mix mix=2_litre..3_litre use=leaf"),
    ("hi-Latn", "patti 2 se 3 litre", "mix mix=2_litre..3_litre use=leaf"),
    ("sw", "majani lita 2 hadi 3", "mix mix=2_litre..3_litre use=leaf"),
    ("hi", "पत्ती आधी टंकी", "mix tanks=0.5 use=leaf"),
    ("hi-Latn", "patti aadhi tanki", "mix tanks=0.5 use=leaf"),
    ("sw", "majani nusu tanki", "mix tanks=0.5 use=leaf"),
    ("hi", "पत्ती 2001", "? mix doubt.which_reading"),
    ("hi-Latn", "patti 2001", "? mix doubt.which_reading"),
    ("sw", "majani 2001", "? mix doubt.which_reading"),
    ("hi", "मिट्टी 2 बीघा", "? area doubt.which_unit"),
    ("hi-Latn", "mitti 2 bigha", "? area doubt.which_unit"),
    ("hi", "पत्ती 1,500 लीटर", "? mix doubt.which_reading"),
    ("hi-Latn", "patti 1,500 litre", "? mix doubt.which_reading"),
    ("sw", "majani lita 1,500", "? mix doubt.which_reading"),
    ("hi", "1/6 को शुरू किया", "start on=2025-06-01"),
    ("hi-Latn", "1/6 ko shuru kiya", "start on=2025-06-01"),
    ("sw", "nimeanza 1/6", "start on=2025-06-01"),
    ("hi-Latn", "spray tamatar 5 din", "? every doubt.every_or_in"),
    ("sw", "kupulizia nyanya siku 5", "? every doubt.every_or_in"),
    ("en", "started 5 days ago", "start on=2026-02-27"),
    ("hi", "5 दिन पहले शुरू किया", "start on=2026-02-27"),
    ("sw", "nimeanza siku 5 zilizopita", "start on=2026-02-27"),
    ("en", "drench 1 lakh plants", "mix plants=100000 use=soil"),
    ("hi", "मिट्टी 1 लाख पौधे", "mix plants=100000 use=soil"),
    (
        "sw",
        "udongo miche dazeni moja ml 250 kila mche",
        "mix per=250_millilitre/1_plant plants=12 use=soil",
    ),
    ("hi", "परसों छिड़काव करूंगा", "late on=2026-03-06"),
    ("hi-Latn", "parso hilaya", "stir on=2026-03-02"),
    ("sw", "nikumbushe saa 12 jioni", "settings hour=18:00"),
    ("hi", "200 लीटर ड्रम शुरू किया", "start size=200_litre"),
    ("hi-Latn", "200 litre drum shuru kiya", "start size=200_litre"),
    ("sw", "nimeanza pipa la lita 200", "start size=200_litre"),
    # An are is not an acre; what a gallon holds differs by place.
    ("en", "soil 5 ares", "mix area=5_are use=soil"),
    ("en", "convert 2 gallons to litres", "? amount doubt.which_unit"),
    ("en", "started 60 gal barrel", "? size doubt.which_unit"),
    # A number behind counted tanks is their size; what is joined to them is another amount.
    ("en", "leaf spray 3 tanks of 16", "mix tank=16_litre tanks=3 use=leaf"),
    ("en", "leaf 2 tanks and 1 litre", "mix mix=1_litre tanks=2 use=leaf"),
    ("en", "leaf 3 tanks for 20 plants", "mix plants=20 tanks=3 use=leaf"),
    ("es", "foliar 2 bombas y media de 16", "mix tank=16_litre tanks=2.5 use=leaf"),
    ("fr", "foliaire deux pompes et demie de 16 l", "mix tank=16_litre tanks=2.5 use=leaf"),
    ("pt", "foliar bomba e meia", "mix tanks=1.5 use=leaf"),
    # An article is no amount.
    ("fr", "j'ai commencé un autre fût", "start"),
    ("es", "empecé otro tambo", "start"),
    # The same in Spanish, French and Portuguese.
    ("es", "foliar 1/3", "? ratio doubt.which_ratio"),
    ("es", "foliar uno en tres", "? ratio doubt.which_ratio"),
    ("es", "foliar 2 a 3 litros", "mix mix=2_litre..3_litre use=leaf"),
    ("es", "foliar media mochila", "mix tanks=0.5 use=leaf"),
    ("es", "foliar litro y medio", "mix mix=1.5_litre use=leaf"),
    ("es", "foliar 1:30", "mix ratio=1:30 use=leaf"),
    ("es", "recuérdame a la 1:30", "settings hour=01:30"),
    ("es", "me avisas a las 6 y media", "settings hour=06:30"),
    ("es", "foliar 2001", "? mix doubt.which_reading"),
    ("es", "foliar 1,500 l", "? mix doubt.which_reading"),
    ("es", "suelo media manzana", "? area doubt.which_unit"),
    ("es", "foliar 2 galones", "? mix doubt.which_unit"),
    ("es", "suelo 5 are", "mix area=5_are use=soil"),
    ("es", "empecé 1/6", "start on=2025-06-01"),
    ("es", "rociando frijol 5 días", "? every doubt.every_or_in"),
    ("es", "empecé barril de 200 l", "start size=200_litre"),
    ("es", "empecé un tambo de 60", "start size=60_litre"),
    ("fr", "foliaire 1/3", "? ratio doubt.which_ratio"),
    ("fr", "foliaire un pour trois", "? ratio doubt.which_ratio"),
    ("fr", "foliaire 2 à 3 litres", "mix mix=2_litre..3_litre use=leaf"),
    ("fr", "foliaire une demi pompe", "mix tanks=0.5 use=leaf"),
    ("fr", "foliaire un litre et demi", "mix mix=1.5_litre use=leaf"),
    ("fr", "foliaire 1 500 l", "mix mix=1500_litre use=leaf"),
    ("fr", "foliaire 1,5 l", "mix mix=1.5_litre use=leaf"),
    ("fr", "foliaire 1.500 l", "? mix doubt.which_reading"),
    ("fr", "foliaire 2001", "? mix doubt.which_reading"),
    ("fr", "foliaire 1:30", "mix ratio=1:30 use=leaf"),
    ("fr", "rappelle à 1:30", "settings hour=01:30"),
    ("fr", "rappelle moi à 6h et demie", "settings hour=06:30"),
    ("fr", "foliaire 2 gallons", "? mix doubt.which_unit"),
    ("fr", "sol un demi hectare", "mix area=0.5_hectare use=soil"),
    ("fr", "commencé 1/6", "start on=2025-06-01"),
    ("fr", "je pulvérise haricot 5 jours", "? every doubt.every_or_in"),
    ("fr", "commencé fût de 200 l", "start size=200_litre"),
    ("pt", "foliar 1/3", "? ratio doubt.which_ratio"),
    ("pt", "foliar um para três", "? ratio doubt.which_ratio"),
    ("pt", "foliar 2 a 3 litros", "mix mix=2_litre..3_litre use=leaf"),
    ("pt", "foliar meia bomba", "mix tanks=0.5 use=leaf"),
    ("pt", "foliar litro e meio", "mix mix=1.5_litre use=leaf"),
    ("pt", "foliar 1,5 l", "mix mix=1.5_litre use=leaf"),
    ("pt", "foliar 1.500 l", "? mix doubt.which_reading"),
    ("pt", "foliar 2001", "? mix doubt.which_reading"),
    ("pt", "foliar 1:30", "mix ratio=1:30 use=leaf"),
    ("pt", "me lembra às 6 e meia", "settings hour=06:30"),
    ("pt", "foliar 2 galões", "? mix doubt.which_unit"),
    ("pt", "solo 2 alqueires", "? area doubt.which_unit"),
    ("pt", "solo meio hectare", "mix area=0.5_hectare use=soil"),
    ("pt", "comecei 1/6", "start on=2025-06-01"),
    ("pt", "pulverizo feijão 5 dias", "? every doubt.every_or_in"),
    ("pt", "comecei barril de 200 l", "start size=200_litre"),
]


@pytest.mark.parametrize(("tag", "text", "wanted"), ROWS, ids=[f"{t}: {x}" for t, x, _ in ROWS])
def test_what_has_two_readings_is_settled_or_asked(tag: str, text: str, wanted: str) -> None:
    assert written(understand(text, HEARD, hearing(tag))) == wanted
