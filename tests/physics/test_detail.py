"""Details: proofs, cures, limits that are known in closed form."""

from dataclasses import dataclass, fields, replace

import numpy as np
import pytest

from thermalkit.errors import OutOfDomain
from thermalkit.physics.detail import plane_w_m2k
from thermalkit.physics.detail_result import AS_FOUND, cured, detail_result
from thermalkit.physics.details import detail_named, details
from thermalkit.physics.details.balcony_slab import BalconySlab
from thermalkit.physics.details.inside_insulation import InsideInsulation
from thermalkit.physics.details.lintel import Lintel
from thermalkit.physics.details.outer_corner import OuterCorner
from thermalkit.physics.details.shutter_box import ShutterBox
from thermalkit.physics.details.slab_on_ground import SlabOnGround
from thermalkit.physics.details.stud_wall import StudWall
from thermalkit.physics.details.window_reveal import WindowReveal
from thermalkit.physics.envelope import factor_from_resistance
from thermalkit.physics.layers import combined_resistance
from thermalkit.physics.tables import UnknownName

approx = pytest.approx
EVERY = [(name, kind) for name, kind in details().items()]


@dataclass(frozen=True, kw_only=True)
class StillCorner(OuterCorner):
    """The outer corner with 0.25 m²K/W for heat flows too, as in the separate calculation."""

    def films(self):
        return {"inside": 0.25, "outside": 0.04}


def test_outer_corner_meets_a_separate_calculation():
    """Separate finite-volume program (no publication): 365 mm of 0.5 W/(m K), ψ 0.139, f 0.603."""
    found = detail_result(StillCorner(plaster_mm=0.0, masonry_mm=365.0, masonry_w_mk=0.5))
    u = 1.0 / (0.25 + 0.73 + 0.04)
    beyond = [flank.inner_m for flank in found.flanks]
    assert found.coupling_w_mk - u * sum(beyond) == approx(0.139, abs=0.002)
    assert found.factor == approx(0.603, abs=0.002)
    assert found.coldest_along_m == 0.0
    assert found.surface_degc(20.0, -5.0).min() == approx(10.07, abs=0.05)
    # The far end of a leg, from the same program.
    assert found.surface_degc(20.0, -5.0)[[0, -1]] == approx([13.873, 13.873], abs=0.08)


@pytest.mark.parametrize(("name", "kind"), EVERY, ids=[name for name, _ in EVERY])
def test_every_detail_and_cure_carries_its_proof(name, kind):
    """Both calculations meet ISO 10211, and the profile is one line from end to end."""
    assert detail_named(name) is kind
    results = cured(kind())
    assert next(iter(results)) == AS_FOUND
    assert len(results) > 1
    for found in results.values():
        assert found.flow_proof.failures == found.factor_proof.failures == ()
        assert not np.isnan(found.factors).any()
        assert np.all(np.diff(found.along_m) > 0.0)
        assert 0.0 in found.along_m
        assert 0.0 < found.factor < 1.0
        assert found.factor == found.factors[found.along_m == found.coldest_along_m][0]


@pytest.mark.parametrize(("name", "kind"), EVERY, ids=[name for name, _ in EVERY])
def test_a_corner_of_ranges_can_be_drawn(name, kind):
    """All dimensions at their smallest, then at their largest: drawn, solved and proven."""
    for side in ("low", "high"):
        ends = {item.name: item.metadata[side] for item in fields(kind)}
        assert detail_result(kind(**ends)).factor > 0.0


def test_without_a_junction_there_is_no_psi():
    """A slab, a stud, a lintel made of the wall itself: the plane wall, within 0.002 W/(m K)."""
    stud = StudWall(stud_w_mk=0.1, insulation_w_mk=0.1)
    assert detail_result(stud).psi_inner_w_mk == approx(0.0, abs=0.002)
    resistance = sum(d / 1000.0 / k for d, k in stud.layers)
    plane = factor_from_resistance(resistance, film_m2k_w=0.25, outdoor_film_m2k_w=0.13)
    assert detail_result(stud).factors == approx(float(plane), abs=1e-4)
    lintel = Lintel(lintel_w_mk=1.0, masonry_w_mk=1.0)
    assert detail_result(lintel).psi_inner_w_mk == approx(
        detail_result(WindowReveal(masonry_w_mk=1.0)).psi_inner_w_mk, abs=0.002
    )
    bare = InsideInsulation(flank_mm=0.0, inside_insulation_mm=0.0, partition_mm=60.0, partition_w_mk=0.1)
    assert abs(detail_result(bare).psi_outer_w_mk) < 0.06 * plane_w_m2k(*bare.layers)


def test_stud_wall_lies_between_both_limits():
    """ISO 6946, 6.7.2: the true resistance lies between the upper and the lower limit."""
    wall = StudWall()
    between = [d / 1000.0 / k for d, k in wall.layers if d]
    stud = between.copy()
    stud[1] = 0.140 / 0.13
    share = wall.stud_width_mm / wall.spacing_mm
    limits = combined_resistance([share, 1 - share], [stud, between], outdoor_film_m2k_w=0.13)
    resistance = wall.spacing_mm / 1000.0 / detail_result(wall).coupling_w_mk
    assert limits.lower_m2k_w < resistance < limits.upper_m2k_w


def test_far_from_the_junction_the_wall_is_plane():
    """ISO 13788, one-dimensional factor by hand, within 0.003 at the end of the drawn wall."""
    for detail in (OuterCorner(), BalconySlab(), Lintel(), ShutterBox(), WindowReveal()):
        resistance = sum(d / 1000.0 / k for d, k in detail.layers)
        plane = (resistance + 0.04) / (resistance + 0.29)
        found = detail_result(detail)
        ends = found.factors[[0, -1]]
        assert np.min(np.abs(ends - plane)) < 0.003


def test_outer_lengths_count_more_wall():
    """By definition: ψ_e = ψ_i - U (difference of lengths)."""
    for detail, more_m in ((OuterCorner(), 2 * 0.255), (BalconySlab(), 0.16), (InsideInsulation(), 0.115)):
        found = detail_result(detail)
        u = found.flanks[0].transmittance_w_m2k
        assert found.psi_outer_w_mk == approx(found.psi_inner_w_mk - u * more_m)


def test_a_frame_is_set_back_from_the_masonry():
    """By hand: 15 + 240 mm of wall, the frame from 155 to 85 mm behind its surface, insulated or not."""
    for insulation_mm in (0.0, 140.0):
        reveal = WindowReveal(insulation_mm=insulation_mm)
        assert reveal.frame_x_mm == (-155.0, -85.0)
        assert detail_result(reveal).along_m[0] == approx(-0.085)


def test_each_cure_helps_what_it_is_for():
    """A break lowers ψ, a lining raises f_Rsi; insulation of the wall alone raises ψ at a slab."""
    slab, box = cured(BalconySlab(insulation_mm=100.0)), cured(ShutterBox())
    assert slab["thermal-break"].psi_inner_w_mk < 0.5 * slab[AS_FOUND].psi_inner_w_mk
    assert slab["thermal-break"].factor > slab[AS_FOUND].factor
    assert box["box-lining"].factor > box[AS_FOUND].factor
    bare = cured(BalconySlab())
    assert bare["outside-insulation"].psi_inner_w_mk > bare[AS_FOUND].psi_inner_w_mk


def test_ground_takes_less_than_air():
    """A floor loses less per kelvin than the wall above it; insulation below lowers it further."""
    plain, insulated = (detail_result(SlabOnGround(floor_insulation_mm=d)) for d in (0.0, 80.0))
    assert insulated.coupling_w_mk < plain.coupling_w_mk
    wall, floor = plain.flanks
    assert floor.transmittance_w_m2k < wall.transmittance_w_m2k


def test_a_dimension_outside_its_range_is_named():
    with pytest.raises(OutOfDomain, match="slab_mm = 16 is outside 100 to 300"):
        replace(BalconySlab(), slab_mm=16.0)


def test_unknown_detail_offers_near_ones():
    with pytest.raises(UnknownName, match='near: "balcony-slab"'):
        detail_named("balcony")
