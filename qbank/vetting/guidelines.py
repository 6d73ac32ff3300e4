"""Published guidelines for writing items, named beside the check that applies them.

T. M. Haladyna, S. M. Downing and M. C. Rodriguez, "A review of multiple-choice item-writing
guidelines for classroom assessment", Applied Measurement in Education 15 (2002) 309-333. The
guidelines are given in our words, from memory.
"""

from __future__ import annotations

_REVIEW = "Haladyna, Downing & Rodriguez 2002 (from memory): "

STEM_POSITIVE = _REVIEW + "word the stem positively, without not or except"
NO_ALL_OF_THE_ABOVE = _REVIEW + "avoid all of the above; use none of the above with care"
EQUAL_LENGTH = _REVIEW + "keep options about equal in length"
HOMOGENEOUS = _REVIEW + "keep options alike in content and form"
NO_CLUES = _REVIEW + "give no clue to the right option"
VARY_THE_KEY = _REVIEW + "vary the place of the right option"
PLAUSIBLE = _REVIEW + "make every distractor plausible"
TYPICAL_ERRORS = _REVIEW + "build distractors from typical errors of students"
ONE_PROBLEM = _REVIEW + "put one clear problem in each question"
LITTLE_READING = _REVIEW + "keep the amount of reading small and the wording simple"
INDEPENDENT = _REVIEW + "keep options independent of each other"
