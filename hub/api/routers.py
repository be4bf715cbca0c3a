"""The routers of all rooms, in the order of the API document. Each room adds one import and one entry.

`METRICS` stands beside the API, where collectors look for it.
"""

from fastapi import APIRouter

import hub.audit.document.routes
import hub.audit.routes
import hub.broker.routes
import hub.budgets.routes
import hub.controls.routes
import hub.cues.routes
import hub.electrical.advice.routes
import hub.energy.routes
import hub.events.routes
import hub.fault_finding.routes
import hub.fleet.routes
import hub.health.mute_routes
import hub.health.routes
import hub.history.routes
import hub.inventory.routes
import hub.looks.routes
import hub.metrics.routes
import hub.notify.routes
import hub.readiness.routes
import hub.rollout.routes
import hub.scenes.flash.routes
import hub.scenes.pictures.routes
import hub.scenes.preview_routes
import hub.scenes.routes
import hub.statements.routes
import hub.timetable.routes
import hub.wiring_sheets.routes

ROUTERS: tuple[APIRouter, ...] = (
    hub.inventory.routes.venues_router,
    hub.inventory.routes.items_router,
    hub.inventory.routes.catalogue_router,
    hub.fleet.routes.router,
    hub.broker.routes.router,
    hub.rollout.routes.router,
    hub.controls.routes.router,
    hub.cues.routes.router,
    hub.timetable.routes.router,
    hub.scenes.routes.router,
    hub.scenes.preview_routes.router,
    hub.scenes.pictures.routes.router,
    hub.scenes.flash.routes.router,
    hub.looks.routes.router,
    hub.statements.routes.router,
    hub.budgets.routes.router,
    hub.audit.routes.router,
    hub.wiring_sheets.routes.router,
    hub.audit.document.routes.router,
    hub.electrical.advice.routes.router,
    hub.energy.routes.router,
    hub.history.routes.router,
    hub.health.routes.router,
    hub.health.mute_routes.router,
    hub.fault_finding.routes.router,
    hub.notify.routes.router,
    hub.events.routes.router,
    hub.readiness.routes.router,
)
METRICS: APIRouter = hub.metrics.routes.router
