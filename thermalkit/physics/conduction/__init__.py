"""Heat conduction in one, two and three dimensions, steady and in time.

Draw a `Body` on a graded grid, solve it once with `steady`, then ask for any temperatures; let it swing with
`periodic_response` or `march` it through time.

Examples
--------
An outside corner of brick, inner leg 1.2 m, with less air moving in the corner, 4 K of daily swing outside:

>>> import numpy as np
>>> edges_m = graded_edges_m([0.0, 0.3, 1.5], 0.005, 1.3)
>>> corner = Body(edges_m, edges_m)
>>> brick = Material(name="brick", conductivity_w_mk=0.67, heat_capacity_j_m3k=1.5e6)
>>> corner.paint([None, None], brick)
>>> corner.paint([(0.3, 1.5), (0.3, 1.5)], "inside")
>>> corner.expose(0, "low", "outside")
>>> corner.expose(1, "low", "outside")
>>> def still_corner(centres_m):
...     return 0.13 + 0.12 * np.exp(-np.max(centres_m - 0.3, axis=1) / 0.2)
>>> solution = steady(corner, {"inside": still_corner, "outside": 0.04})
>>> mean = solution.at({"inside": 20.0, "outside": 2.0})
>>> swing = periodic_response(solution, "outside", 86_400.0)
>>> morning = swing.added_to(mean, amplitude_k=4.0, since_peak_s=16 * 3600.0)
>>> temperatures_degc = morning.surface("inside").temperature_degc  # one per face, with centres and areas
>>> morning.lowest_surface("inside").point_m
array([0.3, 0.3])
"""

from thermalkit.physics.conduction.body import Body as Body
from thermalkit.physics.conduction.body import Material as Material
from thermalkit.physics.conduction.errors import IllPosed as IllPosed
from thermalkit.physics.conduction.errors import NotConverged as NotConverged
from thermalkit.physics.conduction.field import Field as Field
from thermalkit.physics.conduction.field import Lowest as Lowest
from thermalkit.physics.conduction.field import Surface as Surface
from thermalkit.physics.conduction.grid import graded_edges_m as graded_edges_m
from thermalkit.physics.conduction.steady import RefinementChange as RefinementChange
from thermalkit.physics.conduction.steady import Solution as Solution
from thermalkit.physics.conduction.steady import change_between as change_between
from thermalkit.physics.conduction.steady import refinement_change as refinement_change
from thermalkit.physics.conduction.steady import steady as steady
from thermalkit.physics.conduction.transient import Swing as Swing
from thermalkit.physics.conduction.transient import march as march
from thermalkit.physics.conduction.transient import periodic_response as periodic_response
