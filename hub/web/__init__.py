"""The operator's page: its sources, and how the built page is served."""

from hub.web.page import mount_page

__all__ = ["mount_page"]
