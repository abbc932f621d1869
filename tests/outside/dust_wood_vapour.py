"""Dust, the moisture of wood and solvent vapour against standards, handbooks and a regulation."""

from collections.abc import Iterator

from advisor.catalog.solvents import lowest_limit, solvents
from advisor.physics.air import wood
from advisor.physics.room import particles, vapour
from tests.oracles import chemicals
from tests.outside.row import Row, against, relative
from tests.physics.air.test_wood import handbook_fahrenheit
from tests.support import reference_rows

_GALLON, _FOOT = 231 * 0.0254**3, 0.3048
_AT_70F = (70 - 32) / 1.8


def rows() -> Iterator[Row]:
    """Every check on dust, wood and vapour."""
    yield from _classes()
    yield from _settling()
    yield from _wood()
    yield from _dilution()
    yield from _limits()


def _classes() -> Iterator[Row]:
    for edition in ("2015", "1999"):
        cells = [row for row in reference_rows("iso_14644_1.csv") if row["edition"] == edition and row["limit_per_m3"]]
        wrong = sum(
            particles.class_limit(int(row["iso_class"]), float(row["size_um"]) * 1e-6) != float(row["limit_per_m3"])
            for row in cells
        )
        yield Row(
            f"cleanroom limits, {len(cells)} cells", f"ISO 14644-1:{edition} Table 1", f"{len(cells)} cells",
            f"{len(cells) - wrong} the same", f"{wrong} differ",
        )  # fmt: skip
    yield relative(
        "class 8 at 0.5 µm", "ISO 14644-1:2015 Table 1", 3_520_000, particles.class_limit(8, 0.5e-6), "1/m3", 7
    )


def _settling() -> Iterator[Row]:
    for row in reference_rows("settling.csv"):
        if row["unit_density"] != "yes":
            continue
        size, published = float(row["diameter_um"]) * 1e-6, float(row["published"])
        source = f"{row['source']} (from memory)"
        if (row["diameter_um"], row["height_m"]) == ("100", "3.0"):
            source += "; the one that the others contradict"
        if row["height_m"]:
            ours = particles.settling_time(float(row["height_m"]), size)
            what = f"{row['diameter_um']} µm falls {row['height_m']} m"
            yield relative(what, source, published, ours, "s")
        else:
            yield relative(
                f"{row['diameter_um']} µm falls", source, published, particles.settling_velocity(size), "m/s"
            )


def _wood() -> Iterator[Row]:
    for row in reference_rows("wood_emc.csv"):
        air, percent = float(row["air_temperature_c"]), float(row["relative_humidity_pct"])
        source = f"{row['source']}{' (from memory)' if row['tag'] == 'from memory' else ''}"
        yield against(
            f"wood at {air:g} °C {percent:g} %", source, float(row["moisture_pct"]),
            100.0 * float(wood.moisture_content(air, percent / 100.0)), "% moisture",
        )  # fmt: skip
    gaps = [
        float(wood.moisture_content((fahrenheit - 32) / 1.8, percent / 100.0))
        - handbook_fahrenheit(fahrenheit, percent / 100.0)
        for fahrenheit in range(30, 131, 10)
        for percent in range(5, 96, 5)
    ]
    worst = max(gaps, key=abs) * 100.0
    yield Row(
        f"the same equation in °F, {len(gaps)} states, 30-130 °F", "Wood Handbook (2021) eq. 4-5, constants for °F",
        "-", f"worst {worst:+.3f} %", f"{worst:+.3f} % moisture",
    )  # fmt: skip


def _dilution() -> Iterator[Row]:
    regulation = "29 CFR 1910.94(c)(6)(ii) Table G-11 (from memory)"
    by_cas = {solvent.cas: solvent for solvent in solvents().values()}
    for row in reference_rows("dilution_table.csv"):
        limit = float(row["lel_pct"]) / 100.0
        yield relative(
            f"air a gallon of {row['solvent']}, its limit {row['lel_pct']} %", regulation,
            float(row["air_ft3_per_gallon"]), vapour.dilution_air(float(row["vapour_ft3_per_gallon"]), limit),
            "ft3", 5,
        )  # fmt: skip
        solvent = by_cas.get(row["cas"])
        if solvent is not None:
            made = vapour.vapour_of([vapour.Volatile(1.0, solvent.molar_mass, limit)], _AT_70F)
            assert made is not None
            yield relative(
                f"vapour of a gallon of {solvent.name}, 70 °F", regulation, float(row["vapour_ft3_per_gallon"]),
                made.volume * solvent.density * _GALLON / _FOOT**3, "ft3",
            )  # fmt: skip


def _limits() -> Iterator[Row]:
    for solvent in solvents().values():
        methods = chemicals.LFL_methods(CASRN=solvent.cas)
        counted = lowest_limit(solvent.id)
        if counted is None or not methods:
            continue
        lowest = min(chemicals.LFL(CASRN=solvent.cas, method=method) for method in methods) * 100.0
        ours = counted.value * 100.0
        yield Row(
            f"lower flammable limit of {solvent.name}, never over the lowest",
            "IEC 60079-20-1:2010, NFPA 497:2008, Wikidata, as kept by chemicals", f"{lowest:.2f} %", f"{ours:.2f} %",
            "the lowest" if abs(ours - lowest) < 1e-6 else f"{ours - lowest:+.2f} %",
        )  # fmt: skip
