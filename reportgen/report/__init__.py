"""Document model to pages: the only door to reportlab.

Start at `reportgen.report.document.render_report`. Importing this package imports nothing heavy.
"""

import sys
from types import ModuleType

for _name in ("reportlab_mods", "reportlab_settings"):
    # reportlab runs files of these names from the home folder: pages must not depend on one, nor on there being a home
    sys.modules.setdefault(_name, ModuleType(_name))
