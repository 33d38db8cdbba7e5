"""The line below which house dust mites do not thrive."""

from typing import Final

#: Relative humidity, fraction. Homes kept below 51 % fell from 401 to 8 mites a gram in 17 months (Arlian and others 2001
#: [arlian2001]); a daily mean below 50 % is enough even with 2 to 8 damper hours a day (Arlian and others 1999 [arlian1999]).
MITE_LINE: Final = 0.50
