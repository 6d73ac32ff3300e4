"""What checking a bank found, for people and for scripts.

`worst` puts judgements in order and counts them; `summary` is the text for a terminal, `rows` the
table, `documents` the plain values, `page` the page for a browser.
"""

from qbank.audit.report.documents import as_json
from qbank.audit.report.page import as_page
from qbank.audit.report.rows import as_csv
from qbank.audit.report.summary import summary

__all__ = ["as_csv", "as_json", "as_page", "summary"]
