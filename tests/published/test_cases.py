"""Every published case, computed by the engine and compared with its source's number."""

import pytest

from thermo.published.case import Case, all_cases

CASES = all_cases()


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.id)
def test_published_case(case: Case) -> None:
    got = case.compute()
    assert set(got) == set(case.expected), f"{case.id} computes {sorted(got)}"
    for label, expected in case.expected.items():
        assert expected.holds(got[label]), (
            f"{case.id} {label}: got {got[label]!r}, expected {expected.value!r} {expected.unit} "
            f"(rel {expected.rel}, abs {expected.abs}); source: {case.source}"
        )


def test_ids_are_unique_and_sources_named() -> None:
    ids = [c.id for c in CASES]
    assert len(ids) == len(set(ids))
    assert all(c.source and c.provenance and c.expected for c in CASES)
