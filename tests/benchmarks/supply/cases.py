"""Invented brewing questions: members with rounds, barrels of two sizes, a load."""

from __future__ import annotations

from random import Random

from bot.craft.brew_case import Case, Size, Want, merged


def the_proved_one() -> Case:
    """One barrel of 100 L, 60 L on exactly days 10, 20, 30 and 40; the optimum is 26.10.

    Source: computed: every start set enumerated (5,699) with its exact LP over litres, and three
    solvers agree.
    """
    return Case(
        days=45,
        ready_days=(5,) * 45,
        busy_days=(6,) * 45,
        shelf_days=15,
        keep_share=0.10,
        sizes=(Size(100.0, 3.0, (0,)),),
        wants=tuple(Want(day, day, 60.0) for day in (10, 20, 30, 40)),
    )


def season(members: int, barrels: int, *, days: int = 120, load: float, seed: int) -> Case:
    """A group's season: leaf rounds every 10 days, drenches every 15 to 30, scaled to a load.

    `load` is what is wanted over what the barrels could give, if they never stood idle.
    """
    random = Random(seed)
    wants: list[Want] = []
    for _ in range(members):
        area = random.uniform(0.2, 1.0)
        first = 10 + random.randrange(21)
        wants.extend(
            Want(max(day - 2, 0), min(day + 2, days - 1), area * 20)
            for day in range(first, min(first + 40, days - 1), 10)
        )
        if random.random() < 0.6:
            first, gap = 12 + random.randrange(25), random.choice((15, 20, 30))
            wants.extend(
                Want(max(day - 3, 0), min(day + 3, days - 1), area * 40)
                for day in range(first, days - 1, gap)
            )
    small = barrels // 2
    sizes = [Size(200.0, 3.0, (0,) * (barrels - small)), Size(120.0, 2.5, (0,) * small)]
    ready = tuple(7 if day < days * 0.3 else 6 if day < days * 0.6 else 5 for day in range(days))
    room = sum(size.litres * len(size.free_from) for size in sizes)
    most = room * 0.9 * (days - 8) / 8
    scale = load * most / sum(want.litres for want in wants)
    return Case(
        days=days,
        ready_days=ready,
        busy_days=tuple(each + 2 for each in ready),
        shelf_days=20,
        keep_share=0.10,
        sizes=tuple(size for size in sizes if size.free_from),
        wants=merged(
            Want(want.earliest, want.latest, round(want.litres * scale, 1)) for want in wants
        ),
    )
