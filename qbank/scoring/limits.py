"""Bounds on work, so that an item from a stranger ends in bounded time and memory.

Each is far above what an item needs; breaking one is a ScoringError, never a hang.
"""

MAX_DEPTH = 60  # operators, or rules, within each other
MAX_CONTAINER = 1_000  # members of a container
MAX_REPEATS = 10_000  # of one `repeat`
MAX_STEPS = 200_000  # rules run and repeats made in one processing
# Restarts by constraints: as many as MAX_STEPS allows, between these. The standard asks for at
# least 100 (mapping note, e), which every item with up to 2,000 rules gets.
MIN_RESTARTS = 40
MAX_RESTARTS = 1_000
MAX_RULES = 5_000  # of one item
MAX_PARTS = 200_000  # sections and references of one test, those of other files counted
MAX_SECTIONS = 2_000  # that one candidate meets
MAX_LOOKS = 5_000_000  # at items, by the rules of a test for one candidate
MAX_STRING = 100_000  # characters of a response
MAX_PATTERN_STATES = 2_000  # of the automaton of a patternMatch
MAX_PATTERN_WORK = 500_000  # states times characters of one match
MAX_FORMAT_WIDTH = 100  # characters a printed variable is padded or extended to
INTEGER_RANGE = 2**31  # integers are 32-bit and signed (mapping note, b3)
