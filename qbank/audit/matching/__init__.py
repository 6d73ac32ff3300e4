"""Families found for groups of siblings by trying."""

from qbank.audit.matching.match import match_groups
from qbank.audit.matching.model import MatchedGroup, Matching, Unmatched

__all__ = ["MatchedGroup", "Matching", "Unmatched", "match_groups"]
