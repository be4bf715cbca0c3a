"""The audit as a document: HTML and PDF to print and sign, CSV for spreadsheets."""

from hub.audit.document.making import audit_html, audit_pdf
from hub.audit.document.tables import FEED_COLUMNS, SUPPLY_COLUMNS, feeds_csv, supplies_csv

__all__ = ["FEED_COLUMNS", "SUPPLY_COLUMNS", "audit_html", "audit_pdf", "feeds_csv", "supplies_csv"]
