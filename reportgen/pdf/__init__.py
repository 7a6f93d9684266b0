"""Tagged archival pages: canvas, structure, flowing blocks, tables, pictures. It knows no job.

The only door to the page library; importing this package imports nothing heavy.
"""

import sys
from types import ModuleType

for _name in ("reportlab_mods", "reportlab_settings"):
    # the library runs files of these names from the home folder: pages depend on none, nor on there being a home
    sys.modules.setdefault(_name, ModuleType(_name))
