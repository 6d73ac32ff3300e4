"""Siblings: questions of one wording that differ in their numbers."""

from qbank.audit.grouping.grouping import group_questions

__all__ = ["group_questions"]
