"""Drawing: streams, permutations, kinds of given, rules and blocks."""
