"""The routers of all that a venue is made of."""

from fastapi import APIRouter

from hub.inventory.routes import levels, nodes, particulars, pixel_types, scenes, supplies, zones

router = APIRouter(prefix="/venues/{venue}")
for room in (levels, particulars, supplies, nodes, zones, scenes, pixel_types):
    router.include_router(room.router)
