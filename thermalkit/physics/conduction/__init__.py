"""Heat conduction in one, two and three dimensions, steady and in time."""

from thermalkit.physics.conduction.body import Body as Body
from thermalkit.physics.conduction.body import Material as Material
from thermalkit.physics.conduction.errors import IllPosed as IllPosed
from thermalkit.physics.conduction.errors import NotConverged as NotConverged
from thermalkit.physics.conduction.field import Field as Field
from thermalkit.physics.conduction.field import Surface as Surface
from thermalkit.physics.conduction.grid import graded_edges_m as graded_edges_m
from thermalkit.physics.conduction.steady import RefinementChange as RefinementChange
from thermalkit.physics.conduction.steady import Solution as Solution
from thermalkit.physics.conduction.steady import refinement_change as refinement_change
from thermalkit.physics.conduction.steady import steady as steady
from thermalkit.physics.conduction.transient import Swing as Swing
from thermalkit.physics.conduction.transient import march as march
from thermalkit.physics.conduction.transient import periodic_response as periodic_response
