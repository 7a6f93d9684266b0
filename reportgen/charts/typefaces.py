"""The faces charts are set in: paths of TrueType files, handed in by whoever owns the fonts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from pathlib import Path


class Faces(NamedTuple):
    """Files of the regular and the semibold face."""

    regular: Path
    semibold: Path

    def properties(self, size: float, *, semibold: bool = False) -> Any:
        """Return the matplotlib font properties of a face at ``size`` points."""
        from matplotlib.font_manager import FontProperties

        return FontProperties(fname=str(self.semibold if semibold else self.regular), size=size)
