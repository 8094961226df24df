"""The animals an invented house begins with, its incubators and its wishes. All names are made up."""

from __future__ import annotations

from datetime import timedelta

import numpy as np

from eggtooth.engine.colony import Animal, Incubator, Sex, Wish
from eggtooth.engine.entries import Kind
from eggtooth.engine.simulate.genes import founders, trade_text
from eggtooth.engine.simulate.room import Box, Room
from eggtooth.engine.simulate.tubs import FEMALES, GROWING, MALES

HOUSE = "Kettlewick Loft"
"""Name of the invented house."""

NAMES = (
    "Acorn", "Bramble", "Cobble", "Dapple", "Ember", "Fennel", "Gorse", "Hazel", "Inkwell", "Juniper", "Kelp",
    "Lichen", "Mallow", "Nettle", "Oatmeal", "Pebble", "Quince", "Russet", "Saffron", "Thistle", "Umber",
    "Velvet", "Walnut", "Yarrow", "Zinnia",
)  # fmt: skip

WISHES = (
    Wish("Clown Piebald", 5.0, 1),
    Wish("Banana Clown", 3.0, 2),
    Wish("Pastel Desert Ghost", 3.0, 2),
    Wish("Super Pastel Clown", 2.0, 1),
    Wish("Enchi Piebald female", 2.0, 1),
    Wish("het Clown female", 1.0, 4),
)


def settle(room: Room, animals: int) -> None:
    """Fill the house: about a quarter breeding males, half breeding females, the rest growing."""
    males = max(3, round(0.235 * animals))
    females = max(5, round(0.50 * animals))
    growing = max(2, round(0.10 * animals))
    rng = room.chances.keyed("founders")
    for prefix, rack, n, sex in (("M", MALES, males, Sex.MALE), ("F", FEMALES, females, Sex.FEMALE)):
        for _ in range(n):
            _founder(room, rng, prefix, rack, sex, int(rng.integers(900, 2600)))
    for k in range(growing):
        sex = Sex.FEMALE if k % 3 else Sex.MALE
        _founder(room, rng, "G", GROWING, sex, int(rng.integers(80, 420)))
    room.wishes = WISHES
    boxes = max(2, -(-females // 24))
    for k in range(boxes):
        box = Incubator(f"INC{k + 1}", 12 if boxes <= 2 else 24, 31.5)
        room.boxes.append(Box(box, box.target_c))


def _founder(room: Room, rng: np.random.Generator, prefix: str, rack: str, sex: Sex, age: int) -> None:
    genomes, claims = founders(rng, 1)
    text = "" if rng.random() < 0.04 else trade_text(genomes[0], claims[0])
    number = room.count(prefix)
    name = NAMES[int(rng.integers(len(NAMES)))] if rng.random() < 0.25 else ""
    hatched = None if rng.random() < 0.05 and prefix != "G" else room.on - timedelta(days=age)
    animal = Animal(f"{prefix}{number:02d}", sex, name, hatched, text, tub=room.tubs.take(rack))
    mass, grown = _masses(rng, sex, prefix, age)
    i = room.add(animal, genomes[0], claims[0], mass, grown)
    room.hatched[i] = room.today - age
    begin_care(room, i, rng)


def _masses(rng: np.random.Generator, sex: Sex, prefix: str, age: int) -> tuple[float, float]:
    """Mass today and grown, in grams."""
    grown = (1150 if sex is Sex.MALE else 2350) * float(np.exp(rng.normal(0, 0.13)))
    if prefix == "G":
        return 62 * float(np.exp(0.0042 * age + rng.normal(0, 0.15))), grown
    centre = 720 if sex is Sex.MALE else 1720
    return centre * float(np.exp(rng.normal(0, 0.14))), grown


def begin_care(room: Room, i: int, rng: np.random.Generator) -> None:
    """First turns of feeding, weighing and shedding, spread out so that not all fall on one day."""
    room.next_meal[i] = room.today + int(rng.integers(1, 8))
    room.next_weigh[i] = room.today + int(rng.integers(1, 20))
    room.next_shed[i] = room.today + int(rng.integers(3, 45))


def arrive(room: Room) -> None:
    """One bought animal, in quarantine."""
    rng = room.chances.keyed("arrival")
    genomes, claims = founders(rng, 1)
    age = int(rng.integers(500, 800))
    mass = float(rng.normal(1150, 80))
    note = f"arrived {room.on.isoformat()}, quarantine until {(room.on + timedelta(days=90)).isoformat()}"
    animal = Animal(
        "N01", Sex.FEMALE, "", room.on - timedelta(days=age), trade_text(genomes[0], claims[0]),
        tub=room.tubs.take("Q"), note=note,
    )  # fmt: skip
    i = room.add(animal, genomes[0], claims[0], mass, 2300.0)
    begin_care(room, i, rng)
    room.book.note(room.on, "N01", Kind.WEIGHT, float(round(mass)))
