"""The pocket card: one page that ranks readings on a phone, with no server and no signal."""

from backprobe.report.pocket.page import pocket

__all__ = ["pocket"]
