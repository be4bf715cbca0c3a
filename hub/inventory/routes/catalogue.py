"""REST of the pixel catalogue, which is the same for every venue."""

from fastapi import APIRouter

from hub.api.pages import Page, WantedPage
from hub.inventory.kinds import PIXEL_TYPES
from schemas.pixel_catalogue import PIXEL_CATALOGUE
from schemas.pixel_type import PixelType

router = APIRouter(prefix="/pixel-catalogue", tags=["inventory"])


@router.get("")
def list_catalogue(wanted: WantedPage) -> Page[PixelType]:
    """Pixel types that every venue may use beside its own, each value with its source."""
    return wanted.page_of_all(list(PIXEL_CATALOGUE.values()), PIXEL_TYPES.id_of)
