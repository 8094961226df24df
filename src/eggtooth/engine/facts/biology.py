"""The figures of reproduction, growth, feeding and incubation that the engine rests on, each once."""

from __future__ import annotations

from eggtooth.engine.facts.fact import Beta, Fact, LogNormal, Normal
from eggtooth.engine.facts.sources import (
    AUBRET_2005,
    BERTOCCHI_2018,
    CHOICE,
    COMMON_PRACTICE,
    DENARDO_AUTUMN_2001,
    ELLIS_CHAPPELL_1987,
    FOLLICLES_2016,
    GORZULA_1997,
    MCCUE_2007,
    MYHRVOLD_2015,
    OTT_SECOR_2007,
    SHINE_1997,
)
from eggtooth.engine.wording import say

# Follicles
RESTING_BELOW = Fact("a resting follicle is below", 5, "mm", BERTOCCHI_2018)
TRANSITION_BELOW = Fact("transition ends at", 10, "mm", BERTOCCHI_2018)
DOMINANT_FROM = Fact("a follicle is dominant from", 20, "mm", FOLLICLES_2016)
PAIRING_FROM = Fact("pairing opens at", 12, "mm", COMMON_PRACTICE)
SLOW_GROWTH = Fact("slow growth, 12 to 25 mm", 0.20, "mm/day", COMMON_PRACTICE, LogNormal(0.20, 0.35))
FAST_GROWTH = Fact("fast growth, 25 to 45 mm", 1.14, "mm/day", COMMON_PRACTICE, LogNormal(1.14, 0.30))
HINGE = Fact("slow growth turns to fast at", 25, "mm", COMMON_PRACTICE, Normal(25, 2))
OVULATION_AT = Fact("ovulation near", 44, "mm", COMMON_PRACTICE, Normal(44, 3))
SCAN_ERROR = Fact("error of one scan", 1.5, "mm", CHOICE, Normal(0, 1.5))
REABSORBS_SMALL = Fact("reabsorbed while below 20 mm", 0.375, "share", CHOICE, Beta(3, 5))
REABSORBS_DOMINANT = Fact("reabsorbed from 20 mm on", 0.15, "share", CHOICE, Beta(1.5, 8.5))
REABSORBS_ALONE = Fact(
    "reabsorbed when she met no male",
    6 / 7,
    "share",
    DENARDO_AUTUMN_2001,
    Beta(6, 1),
    note="blood pythons: 5 of 5 alone, 1 of 6 with a male; one seen of each added",
)
REABSORBS_WITH_MALE = Fact(
    "reabsorbed small though she met males", 2 / 8, "share", DENARDO_AUTUMN_2001, Beta(2, 6)
)
NEVER_STARTS = Fact("no follicles grow this season", 0.07, "share", CHOICE, Beta(1.4, 18.6))
FIRST_SEEN = Fact("follicles are first seen from", 5, "mm", COMMON_PRACTICE, note="5 to 6 mm")
LAYING_SEASON = Fact(
    "eggs come about",
    226,
    "days after 1 September",
    CHOICE,
    Normal(226, 45),
    note="mid April, as winter-paired",
)
OFF_FOOD_FROM = Fact("she goes off food at", 25, "mm", COMMON_PRACTICE, Normal(25, 2.5))
LAYS = Fact("lays when paired and ready", 0.7, "share", CHOICE, Beta(7, 3))

# Ovulation to eggs
OVULATION_TO_SHED = Fact("ovulation to pre-lay shed", 18, "days", COMMON_PRACTICE, Normal(18, 4))
SHED_TO_LAID = Fact("pre-lay shed to eggs", 31, "days", COMMON_PRACTICE, LogNormal(31, 0.15))
OVULATION_TO_LAID = Fact("ovulation to eggs", 48, "days", COMMON_PRACTICE, Normal(48, 5))
FIRST_LOCK_TO_OVULATION = Fact("first lock to ovulation", 75, "days", COMMON_PRACTICE, LogNormal(75, 0.5))
OVERDUE_AFTER_SHED = Fact("eggs overdue after the pre-lay shed", 45, "days", CHOICE)
OVERDUE_OVULATION = Fact("eggs overdue after ovulation", 60, "days", CHOICE)

# Clutch and incubation
CLUTCH_SIZE = Fact("eggs in a clutch", 6.3, "eggs", COMMON_PRACTICE, Normal(6.3, 1.9))
CLUTCH_SIZE_WILD_MAX = Fact("largest clutch counted in Ghana", 15, "eggs", GORZULA_1997)
RELATIVE_CLUTCH_MASS = Fact(
    "clutch as a share of her mass before laying", 0.33, "share", ELLIS_CHAPPELL_1987, Normal(0.33, 0.05)
)
EGG_MASS = Fact("mass of an egg", 94.07, "g", MYHRVOLD_2015)
FERTILE_PER_EGG = Fact("fertile, per egg with a good lock record", 0.9, "share", CHOICE, Beta(18, 2))
WHOLE_CLUTCH_FAILS = Fact("whole clutch infertile", 0.05, "share", CHOICE)
HATCHES = Fact("hatches when fertile and well incubated", 0.85, "share", COMMON_PRACTICE, Beta(17, 3))
INCUBATION_AT_31_5 = Fact("incubation at 31.5 °C", 58.5, "days", COMMON_PRACTICE, Normal(58.5, 2.5))
INCUBATION_SLOPE = Fact("shorter per °C warmer, in log days", 0.055, "1/°C", SHINE_1997, Normal(0.055, 0.015))
INCUBATION_RESIDUAL_CV = Fact("difference between clutches at one temperature", 4, "%", SHINE_1997)
HATCH_BY_TEMPERATURE = (
    (25.0, 0.0),
    (27.5, 0.6),
    (29.0, 0.9),
    (30.0, 1.0),
    (32.0, 1.0),
    (33.0, 0.9),
    (34.0, 0.6),
    (35.5, 0.0),
)
"""Share of the usual hatching success by constant temperature in °C (our choice, by the trade's limits and
the fall of other snakes' success above 32 °C)."""
THERMOSTAT_SD = Fact("an incubator strays from its target for good by", 0.3, "°C", CHOICE)
LAID_DATE = Fact(
    "eggs come, when nothing is known of her, about 15 April, with a deviation of",
    45,
    "days",
    CHOICE,
    note="northern houses that pair in winter",
)
INCUBATOR_TARGET = Fact("eggs are kept at", 31.5, "°C", COMMON_PRACTICE)
PIP_TO_HATCH = Fact("pip to leaving the egg", 2, "days", COMMON_PRACTICE)

# Hatchlings
HATCHLING_MASS = Fact("hatchling mass", 62, "g", GORZULA_1997, Normal(62, 10))
HATCH_TO_FIRST_SHED = Fact("hatch to first shed", 10, "days", COMMON_PRACTICE, Normal(10, 2.5))
HATCH_TO_FIRST_MEAL = Fact("hatch to first meal taken", 16, "days", COMMON_PRACTICE, LogNormal(16, 0.5))

# Feeding and fasting
SMALL_PREY_INTERVAL = Fact("least days between meals of up to 15 % of body mass", 5, "days", CHOICE)
LARGE_PREY_INTERVAL = Fact("digestion of a meal of 25 % of body mass", 7, "days", OTT_SECOR_2007)
FEMALE_SEASON_INTERVAL = Fact(
    "females in the season are fed every", 5, "days", COMMON_PRACTICE, note="5 to 7 days"
)
FASTING_LOSS = Fact("mass lost per day without food", 0.12, "%/day", MCCUE_2007, LogNormal(0.11, 0.35))
BROODING_LOSS_60_D = Fact("most mass lost in 60 days of brooding", 6, "%", AUBRET_2005)
LOSS_WORRY = Fact("mass loss to look into", 10, "%", COMMON_PRACTICE)
LOSS_DRAMATIC = Fact("dramatic mass loss", 15, "%", COMMON_PRACTICE)

# Meals
HATCHLING_SHARE = Fact("weekly meal below 500 g", 12, "% of body mass", CHOICE)
YOUNG_SHARE = Fact("weekly meal from 500 to 1000 g", 10, "% of body mass", CHOICE)
ADULT_SHARE = Fact("adult meal", 7, "% of body mass", CHOICE)
ADULT_INTERVAL = Fact(
    "adults out of the season are fed every", 10, "days", COMMON_PRACTICE, note="10 to 14 days"
)
YOUNG_INTERVAL = Fact("young are fed every", 7, "days", COMMON_PRACTICE)
HATCHLING_INTERVAL = Fact("hatchlings are fed every", 5, "days", COMMON_PRACTICE, note="5 to 7 days")
MALE_SEASON_INTERVAL = Fact("breeding males are offered a meal every", 7, "days", COMMON_PRACTICE)

MEDIUM_RAT = Fact(
    "largest prey offered to a breeding female, two or three at a meal", 120, "g", COMMON_PRACTICE
)

PREY_G = (
    (12, say("mouse hopper or rat pup")),
    (20, say("mouse or rat fuzzy")),
    (35, say("adult mouse or rat pup")),
    (55, say("weaned rat")),
    (90, say("small rat")),
    (150, say("medium rat")),
    (260, say("large rat")),
)
"""Upper mass in grams of each trade size of prey (common practice, no source)."""

PREY_TYPICAL_G: dict[str, float] = {
    say("rat pinky"): 5,
    say("rat pup"): 10,
    say("rat fuzzy"): 18,
    say("weaned rat"): 45,
    say("small rat"): 70,
    say("medium rat"): 120,
    say("large rat"): 200,
    say("jumbo rat"): 320,
    say("mouse pinky"): 2,
    say("mouse fuzzy"): 4,
    say("mouse hopper"): 10,
    say("adult mouse"): 25,
    say("jumbo mouse"): 38,
}
"""Usual mass in grams of prey by its trade name, for meals noted without grams (common practice, no
source).
"""

RATION_BY_MASS = ((60, 2.1), (150, 1.9), (300, 1.7), (500, 1.5), (1000, 1.1), (1600, 0.85), (2500, 0.6))
"""Food eaten per day in % of body mass by body mass in grams: the usual meals over the usual intervals,
drawn through as a smooth line (our choice, from the shares and intervals above)."""

# Growth
GROWTH_EFFICIENCY = Fact(
    "body mass gained per gram eaten, while small",
    0.345,
    "g/g",
    CHOICE,
    Normal(0.345, 0.065),
    note="with the usual ration 62 g become about 340 g in a year, 900 g in two, 1400 g in three",
)
HALF_GAIN_MASS = Fact("a gram eaten adds half as much at", 2200, "g", CHOICE)
GROWTH_CURVATURE = Fact(
    "efficiency lost per unit of log mass gained, beyond the usual", 0.02, "g/g", CHOICE, Normal(0.02, 0.05)
)
FASTS_PER_YEAR = Fact("fasts of weeks to months in a year", 0.6, "fasts", CHOICE)
FAST_LENGTH = Fact("length of such a fast", 55, "days", CHOICE)
YEAR_MASS = Fact("mass at twelve months", 330, "g", ELLIS_CHAPPELL_1987, LogNormal(330, 0.40))
YOUNG_FASTING_FACTOR = Fact("fasting costs a hatchling, against an adult", 1.5, "times", CHOICE)
WEIGHING_ERROR = Fact("error of a good weighing", 2, "%", CHOICE, Normal(0, 2))
BAD_WEIGHING = Fact("weighings that are wrong altogether", 0.03, "share", CHOICE)
SHED_WEIGHING_ERROR = Fact("more error of a weighing within a week before a shed", 1.5, "%", CHOICE)
GUT_EMPTIES = Fact("a meal weighs in the gut for about", 4, "days", OTT_SECOR_2007, note="gone by day 6 to 8")

# Readiness
FEMALE_READY_HALF = Fact("one female in two is ready to breed at", 1350, "g", CHOICE)
FEMALE_READY_MOST = Fact("nine females in ten are ready to breed at", 1600, "g", CHOICE)
MALE_READY_HALF = Fact("one male in two is ready to breed at", 550, "g", CHOICE)
MALE_READY_MOST = Fact("nine males in ten are ready to breed at", 750, "g", CHOICE)
BACK_TO_MASS = Fact(
    "breeds again when back at this share of her mass before the last season", 0.95, "share", CHOICE
)
MALE_SURELY_UNRIPE = Fact("immature hemipenes at about", 350, "g", COMMON_PRACTICE, note="at four months")
MALE_LAZY_FROM = Fact("some males grow lazy from", 1000, "g", COMMON_PRACTICE, note="800 to 1000 g")
MALE_LEAST_MASS = Fact("least mass of a breeding male", 500, "g", COMMON_PRACTICE)
MALE_BEST_MASS = Fact(
    "best mass of a breeding male",
    700,
    "g",
    COMMON_PRACTICE,
    note="600 to 700 g; from 800-1000 g some grow lazy",
)
FEMALE_USUAL_MASS = Fact("usual least mass of a breeding female", 1500, "g", COMMON_PRACTICE)
FEMALE_LIGHT_MASS = Fact("a light female of 18 months may still make it from", 1300, "g", COMMON_PRACTICE)
MALE_AGE_FLOOR = Fact("males breed from", 9, "months", COMMON_PRACTICE)
FEMALE_AGE_FLOOR = Fact("females breed from", 18, "months", COMMON_PRACTICE)

# Male wear
MALE_STOPS_EATING = Fact("males stop eating into the season after about", 60, "days", COMMON_PRACTICE)
MALE_REST_FROM = Fact(
    "a breeding male is rested after his last meal from", 60, "days", COMMON_PRACTICE, note="60 to 90 days"
)
MALE_REST_LATEST = Fact(
    "a breeding male is rested after his last meal at the latest", 90, "days", COMMON_PRACTICE
)
MALE_REST_BY_MASS = ((500, 50), (600, 55), (650, 60), (700, 62), (800, 66), (900, 72), (1000, 78), (1200, 90))
"""Days without a meal after which a breeding male is rested, by his mass in grams at the season's start.
Common practice says 60 to 90 days and somewhat longer for a big male; where in that range a mass stands,
and that a male under 650 g rests up to ten days sooner, is our choice, held against simulated males that
die of going on too long.
"""
MEAL_GIVES_BACK = Fact(
    "one meal amid a fast gives a breeding male back",
    4.5,
    "days a day for a week",
    CHOICE,
    note="12 % of his mass eaten leaves about 4 %, some 24 days' loss, and a week to digest it",
)
MALE_STOP_SPREAD = Fact(
    "when a male stops eating, after his first night in", 60, "days", CHOICE, LogNormal(60, 0.25)
)
MALE_ENDURANCE_SD = Fact(
    "difference between males in how long they can go on", 8, "days", CHOICE, Normal(0, 8)
)
MALE_SEASON_LOSS = Fact(
    "log mass a breeding male loses a day without food",
    0.0017,
    "1/day",
    CHOICE,
    Normal(0.0017, 0.0006),
    note="fasting (McCue 2007) and half as much again for the nights",
)
FEMALES_A_WEEK = Fact("females a week for one male, at most", 4, "females", COMMON_PRACTICE)
FEMALES_A_SEASON = Fact(
    "females a season for one male, at most", 5, "females", COMMON_PRACTICE, note="3 to 6"
)
LOCKS_WANTED = Fact(
    "locks wanted inside her window", 2, "locks", COMMON_PRACTICE, note="one or two between 12 and 25 mm"
)

# Kin
KINSHIP_LIMIT = Fact("closest pair put together: inbreeding of the young at most", 0.125, "share", CHOICE)

# Laboratory
LAB_ERROR = Fact(
    "laboratory wrong, where it states no rate and one is weighed beforehand", 0.02, "share", CHOICE
)

# Room
QUARANTINE = Fact("quarantine of a new animal", 90, "days", COMMON_PRACTICE)
NIGHT_DROP = Fact("nights cooler in the season by", 2, "°C", COMMON_PRACTICE, note="2 to 4 °C")
OLDEST_KNOWN = Fact(
    "oldest age believed", 65, "years", CHOICE, note="a zoo female of about 62 years laid seven eggs"
)

# Paternity -----------------------------------------------------------------------------------------------
FERTILE_PER_LOCK = Fact("a lock well inside the window makes her fertile", 0.45, "share", CHOICE)
LOCK_WINDOW = Fact("locks count fully in the days before ovulation, up to", 60, "days", CHOICE)
LOCK_FADES = Fact("locks count nothing longer before ovulation than", 150, "days", CHOICE)
NIGHT_AS_LOCK = Fact("a stay without a lock seen counts as", 0.15, "locks", CHOICE)
LOCK_BY_MM = ((5, 0.05), (9, 0.15), (13, 0.40), (44, 0.40))
"""Chance that a night together ends in a lock, by her follicles in mm: pairing opens at 12 to 13 mm for those
who scan (common practice); the shares are our choice."""
EARLIER_SIRES = Fact("sired by a male of an earlier season, when there was one", 0.035, "share", CHOICE)
NO_SIRE = Fact(
    "no sire at all", 0.002, "share", CHOICE, note="0.1 to 0.5 %; virgin birth is shown by genotyping"
)
NO_SIRE_WITHOUT_MALE = Fact("no sire at all, when no male was with her", 0.2, "share", CHOICE)
TWO_SIRES = Fact(
    "two sires in a clutch, when two males were with her", 0.5, "share", CHOICE, Beta(3, 3),
    note="3 of 4 Burmese python clutches had two (J. Herpetol. 55(4):355, 2021); none for ball pythons",
)  # fmt: skip
