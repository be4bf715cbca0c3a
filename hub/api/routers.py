"""The routers of all rooms, in the order of the API document. Each room adds one import and one entry."""

from fastapi import APIRouter

ROUTERS: tuple[APIRouter, ...] = ()
