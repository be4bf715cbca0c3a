"""The routers of all items of a venue."""

from fastapi import APIRouter

from hub.inventory.routes import nodes, pixel_types, scenes, supplies, zones

router = APIRouter(prefix="/venues/{venue}")
for room in (supplies, nodes, zones, scenes, pixel_types):
    router.include_router(room.router)
