"""What must be known of a crop before a ferment touches it: eaten raw, near soil, picked for weeks.

A crop that is not here is taken as eaten raw and touching soil: the careful reading.
Source: general crop knowledge, from memory; a group's own word goes before it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Crop:
    """One crop. `raw`: its harvest is eaten raw by some. `soil`: the eaten part touches soil.

    `weeks`: picked again and again for weeks. `legume`: its seed coat splits in a soak. `food`:
    people eat it at all.
    """

    name: str
    raw: bool = True
    soil: bool = True
    weeks: bool = False
    legume: bool = False
    food: bool = True


def _crops(names: str, **flags: bool) -> dict[str, Crop]:
    return {name: Crop(name, **flags) for name in names.split()}


CROPS: Mapping[str, Crop] = MappingProxyType(
    {
        # eaten raw, hanging clear of the soil, picked for weeks
        **_crops("tomato chilli okra cucumber", soil=False, weeks=True),
        # eaten raw, on or in the soil
        **_crops("watermelon cabbage carrot onion radish beetroot coriander mint lettuce"),
        **_crops("strawberry kale spinach amaranth", weeks=True),
        # eaten raw, high above the soil
        **_crops("mango papaya guava citrus grape apple", soil=False),
        **_crops("banana", soil=False, weeks=True),
        # cooked, hanging
        **_crops("brinjal bitter_gourd bottle_gourd", raw=False, soil=False, weeks=True),
        # cooked, on or in the soil
        **_crops("potato cassava sweet_potato yam taro turmeric ginger pumpkin", raw=False),
        # grain, oil, fibre and cane
        **_crops("rice wheat maize sorghum millet teff barley", raw=False, soil=False),
        **_crops("mustard sesame sunflower linseed sugarcane coffee", raw=False, soil=False),
        **_crops("cotton jute", raw=False, soil=False, food=False),
        # legumes: pods picked green are eaten raw by some
        **_crops("bean pea cowpea", soil=False, weeks=True, legume=True),
        **_crops("groundnut", legume=True),
        **_crops(
            "soybean chickpea lentil mung_bean black_gram pigeon_pea cluster_bean horse_gram "
            "lablab faba_bean",
            raw=False,
            soil=False,
            legume=True,
        ),
        **_crops("clover lucerne", raw=False, legume=True, food=False),
    }
)


def crop_of(name: str) -> Crop:
    """What is known of a crop; an unknown one is eaten raw and touches soil.

    >>> crop_of("tomato").soil, crop_of("anything").soil
    (False, True)
    """
    return CROPS.get(name, Crop(name))
