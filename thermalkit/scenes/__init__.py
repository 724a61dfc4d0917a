"""Physical scenes seen by a camera model, written as site folders with their truth."""

from thermalkit.scenes.climate import Climate as Climate
from thermalkit.scenes.climate import random_climate as random_climate
from thermalkit.scenes.picture import Options as Options
from thermalkit.scenes.picture import Seen as Seen
from thermalkit.scenes.picture import seen as seen
from thermalkit.scenes.picture import truth_at as truth_at
from thermalkit.scenes.scene import Scene as Scene
from thermalkit.scenes.scene import random_scene as random_scene
from thermalkit.scenes.walls import FlatWall as FlatWall
from thermalkit.scenes.walls import InnerWall as InnerWall
from thermalkit.scenes.walls import OuterCorner as OuterCorner
from thermalkit.scenes.walls import random_corner as random_corner
from thermalkit.scenes.walls import random_patch as random_patch
from thermalkit.scenes.walls import random_sound as random_sound
from thermalkit.scenes.water import Foot as Foot
from thermalkit.scenes.water import Heat as Heat
from thermalkit.scenes.water import Run as Run
from thermalkit.scenes.water import Spot as Spot
from thermalkit.scenes.water import Stain as Stain
from thermalkit.scenes.write import write_site as write_site
