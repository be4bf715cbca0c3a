"""From a pattern of a scene to what lights a zone: a still light, or one that moves."""

from node_agent.render.patterns.chase import ChaseLight
from node_agent.render.patterns.gradient import light_gradient
from node_agent.render.patterns.light import TimedLight
from node_agent.render.patterns.spot import light_spot
from node_agent.render.patterns.twinkle import TwinkleLight
from node_agent.render.patterns.wash import light_wash
from node_agent.render.patterns.wave import WaveLight
from node_agent.render.placement import Placement
from schemas import Chase, Gradient, Spot, Twinkle, Wash, Wave


def prepare(pattern: Wash | Spot | Gradient | Chase | Wave | Twinkle, placement: Placement) -> TimedLight:
    match pattern:
        case Wash():
            return light_wash(pattern)
        case Spot():
            return light_spot(pattern, placement)
        case Gradient():
            return light_gradient(pattern, placement)
        case Chase():
            return ChaseLight(pattern, placement)
        case Wave():
            return WaveLight(pattern, placement)
        case Twinkle():
            return TwinkleLight(pattern, placement)
