"""The packed plate under the name that marks still know it by."""

from setupassist.inspection.planes import Box, PackedPlate

Record = PackedPlate
__all__ = ["Box", "Record"]
