"""Invented species, made by hand, that between them take every turn of a species' page."""

from __future__ import annotations

from chillplan.seeds.recipe import CoatStep, Germination, Phase, Recipe, Response, Ripening, Species

NARROW = Response(0.25, 3.0, 6.5, 9.0)
KNOWN = Germination(4.0, (120.0, 260.5), (15.0, 20.0), (3.0, 6.0), assumed=False)


def invented(name: str, *recipes: Recipe, germination: Germination | None = None, **more: object) -> Species:
    words = {"other_names": (), "family": "", "dormancy": "", "hard_coat": False, **more}
    germination = germination or Germination(5.0, (100.0, 250.0))
    return Species(f"Planta {name}", name, recipes=recipes, germination=germination, **words)  # type: ignore[arg-type]


SPECIES = (
    invented("nihil", Recipe("sow as it is"), depth_cm=(2.0, 2.0)),
    invented(
        "lapis",
        Recipe(
            "scarify, then warm and cold",
            (
                CoatStep("float test"),
                CoatStep("remove pulp"),
                CoatStep("remove hull", detail="it stains"),
                CoatStep("scarify"),
                CoatStep("rinse", (1.0, 1.0)),
                CoatStep("soak", (24.0, 48.0)),
                CoatStep("crack"),
            ),
            (Phase("warm", (60.0, 90.0), (18.0, 24.0)), Phase("cold", (90.0, 120.0))),
        ),
        germination=KNOWN,
        hard_coat=True,
        trickle_share=0.15,
        depth_cm=(1.9, 2.5),
        seedling_limit=-2.5,
        sow_season="late summer",
        seeds_per_gram=12.5,
        ripening=Ripening((9, 1), (10, 15), -42.5, "Own note"),
        hardiness=-28.9,
        hardiness_source="Own thermometer",
        ceiling_share=0.625,
        ceiling_source="Own count",
        note="Sources disagree on the warmth.",
        source="Nursery book",
        source_url="https://example.org/lapis",
        read=("phases", "warm_days_min", "days_of_rain"),
    ),
    invented(
        "aqua",
        Recipe(
            "hot water",
            (
                CoatStep("hot water", None, (80.0, 85.0)),
                CoatStep("soak", (12.0, 12.0)),
                CoatStep("peroxide rinse", (0.5, 0.75)),
                CoatStep("smoke water", (24.0, 24.0), detail="once"),
            ),
        ),
        Recipe("boiling water", (CoatStep("hot water", (1 / 60, 2 / 60), (99.0, 99.0)),)),
        Recipe("an hour's bath", (CoatStep("hot water", (1.0, 1.0)), CoatStep("rinse", (4 / 3, 5 / 3)))),
        Recipe("odd times", (CoatStep("soak", (50.0, 100.0)), CoatStep("rinse", (7.23 / 60, 7.77 / 60)))),
        Recipe("an hour's heat", (CoatStep("dry heat", (1.5, 2.0), (100.0, 105.0)),)),
        Recipe("heat", (CoatStep("dry heat", None, (100.0, 100.0)),)),
        hard_coat=True,
        depth_cm=(0.6, 1.3),
    ),
    invented(
        "lux",
        Recipe("cold", (), (Phase("cold", (0.0, 28.0), (5.0, 5.0)),)),
        depth_cm=(0.0, 0.0),
        light="needed",
        origin="mine.csv",
        storage="short-lived",
    ),
    invented(
        "radix",
        Recipe(
            "two winters",
            (),
            (Phase("cold", (60.0, 90.0)), Phase("warm", (0.0, 60.0)), Phase("cold", (70.0, 100.0))),
        ),
        germination=Germination(1.0, (100.0, 250.0)),
        light="needed",
        shoot_waits=True,
        storage="never dry",
        depth_cm=(0.2, 0.5),
    ),
    invented(
        "duplex",
        Recipe(
            "dried",
            (CoatStep("soak", (23.0, 23.0)),),
            (Phase("warm", (30.0, 30.0)), Phase("cold", (54.0, 90.0), response=NARROW, spread_assumed=True)),
            "dried",
        ),
        Recipe("fresh", (), (Phase("cold", (60.0, 90.0), (1.0, 5.0), NARROW),), "fresh"),
        germination=Germination(1.5, (100.0, 250.0), (18.0, 18.0)),
        depth_cm=(0.0, 0.4),
        light="dark",
        origin="mine.csv",
        read=("germination_temp_c",),
        source="Own trial",
    ),
    invented("gelu", Recipe("cold", (), (Phase("cold", (301.0, 301.0)),)), germination=Germination(0.5, (60.0, 90.0))),
    invented("mora", Recipe("cold", (), (Phase("cold", (300.0, 300.0)),)), storage="never dry"),
    invented("tepor", Recipe("warm", (), (Phase("warm", (0.0, 30.0)),))),
    invented("frigus", Recipe("cold", (), (Phase("cold", (20.0, 20.0)),)), shoot_waits=True),
)
