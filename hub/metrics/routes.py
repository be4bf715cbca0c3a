"""The one address that collectors of metrics read."""

from typing import Final

from fastapi import APIRouter, Response
from prometheus_client.openmetrics.exposition import CONTENT_TYPE_LATEST

from hub.app import TheHub

router = APIRouter(tags=["metrics"])

_MEDIA_TYPE: Final = CONTENT_TYPE_LATEST.partition(";")[0]


class OpenMetricsResponse(Response):
    """Text in the OpenMetrics format."""

    media_type = CONTENT_TYPE_LATEST


@router.get(
    "/metrics",
    response_class=OpenMetricsResponse,
    responses={200: {"description": "OpenMetrics 1.0.", "content": {_MEDIA_TYPE: {"schema": {"type": "string"}}}}},
)
def metrics(hub: TheHub) -> Response:
    """Figures of the hub and of every node, for collectors of metrics. Units are base units and stand in the names.

    A venue, node or supply is named as in the inventory. What a node does not tell is left out.
    """
    return OpenMetricsResponse(hub.metrics.text())
