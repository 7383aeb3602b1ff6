"""Private documents about learners: the HTML report, letters, the day's list, the board, and the raters' sheet.

They hold records of learners. Whoever calls these decides where they go; never into the site or the curriculum.
"""

from generator.rendering.reports.boards import board
from generator.rendering.reports.day import day_list, older_prints
from generator.rendering.reports.letters import letter
from generator.rendering.reports.report import report_html
from generator.rendering.reports.standard import standard_sheet

__all__ = ["board", "day_list", "letter", "older_prints", "report_html", "standard_sheet"]
