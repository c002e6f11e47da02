"""Printed labels of pieces: on which paper, what stands on them, the code that leads back to the piece."""

from equipment.labels.content import label_of
from equipment.labels.sizes import SIZES, LabelSize

__all__ = ["SIZES", "LabelSize", "label_of"]
