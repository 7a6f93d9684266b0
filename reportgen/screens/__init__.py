"""What many reports show together: screens with the false alarms that they keep to, and charts of shifts.

Pure statistics in floating point over whole numbers; nothing here decides a verdict on steel. Each screen divides its
level among its tests, and says how many these were, how many such findings chance gives, and what it could not see.
"""

from reportgen.screens.agreement import alike
from reportgen.screens.digits import Heaped, digit_table, heaped_digits
from reportgen.screens.narrow import narrow_groups, narrow_surfaces
from reportgen.screens.pictures import Picture, look_of, photos_alike
from reportgen.screens.rows import Weather, weather_alike
from reportgen.screens.rules import regular, repeats_avoided
from reportgen.screens.sheets import Floor, ReadingSheet, Screened, Sign

__all__ = [
    "Floor",
    "Heaped",
    "Picture",
    "ReadingSheet",
    "Screened",
    "Sign",
    "Weather",
    "alike",
    "digit_table",
    "heaped_digits",
    "look_of",
    "narrow_groups",
    "narrow_surfaces",
    "photos_alike",
    "regular",
    "repeats_avoided",
    "weather_alike",
]
