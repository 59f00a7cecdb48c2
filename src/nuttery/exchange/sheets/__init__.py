"""Notes in spreadsheets: the workbook to fill in, notes read and notes written."""

from nuttery.exchange.sheets.describe import notes_page
from nuttery.exchange.sheets.faults import ImportFault, ImportRefused
from nuttery.exchange.sheets.reading import ImportedNotes, Preview, read_notes
from nuttery.exchange.sheets.template import write_template
from nuttery.exchange.sheets.writing import write_notes

__all__ = [
    "ImportFault",
    "ImportRefused",
    "ImportedNotes",
    "Preview",
    "notes_page",
    "read_notes",
    "write_notes",
    "write_template",
]
