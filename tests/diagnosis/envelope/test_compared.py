"""What compares between two visits, and the places of a cooled flat."""

from thermalkit.diagnosis.envelope.compared import compared


def test_factor_and_flow_of_each_place(worked):
    """The factor stands for the place; more of it is better, more heat flow is worse."""
    items = [c for c in compared(worked("shutter-box")) if c.mark == "Ringbalken"]
    assert [(c.term, c.higher_is) for c in items] == [
        ("temperature-factor", "better"),
        ("extra-heat-flow", "worse"),
    ]
    assert all(c.draws.shape == (10_000,) for c in items)
    assert not any(c.needs_alike_weather for c in items)
