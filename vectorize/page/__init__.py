"""Plan files as pages: grey pictures or exact strokes, with what the file says of its size."""

from vectorize.page.plan_file import list_pages, read_drawing, read_page
from vectorize.page.plan_page import LARGEST_MEGAPIXELS, Page, PageInfo

__all__ = ["LARGEST_MEGAPIXELS", "Page", "PageInfo", "list_pages", "read_drawing", "read_page"]
