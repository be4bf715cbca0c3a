"""REST of the inventory: venues, and the supplies, nodes, zones, scenes and pixel types of each."""

from hub.inventory.routes.items import router as items_router
from hub.inventory.routes.venues import router as venues_router

__all__ = ["items_router", "venues_router"]
