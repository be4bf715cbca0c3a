"""REST of the inventory: venues, and the supplies, nodes, zones, scenes and pixel types of each; the catalogue."""

from hub.inventory.routes.catalogue import router as catalogue_router
from hub.inventory.routes.items import router as items_router
from hub.inventory.routes.venues import router as venues_router

__all__ = ["catalogue_router", "items_router", "venues_router"]
