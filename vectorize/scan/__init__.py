"""Plan files as pages: grey pictures or exact strokes, with what the file says of its size."""

from vectorize.scan.page import LARGEST_MEGAPIXELS, Page, PageInfo, Stroke
from vectorize.scan.read import list_pages, read_drawing, read_page

__all__ = ["LARGEST_MEGAPIXELS", "Page", "PageInfo", "Stroke", "list_pages", "read_drawing", "read_page"]
