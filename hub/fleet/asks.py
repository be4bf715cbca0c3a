"""A person's questions to a node and its answer, awaited up to a deadline."""

from concurrent.futures import Future
from typing import Final

from hub.errors import ConflictError, NotFoundError, UnavailableError
from hub.fleet.loop import FleetLoop
from hub.fleet.sending import LIFETIME_S, send_question
from hub.fleet.state import NodeState
from schemas import AskIdentify, AskTelemetry, AskTestPattern, AskWalk, Declined, Done, Leaf

MAX_WAITING: Final = 16

PersonsQuestion = AskIdentify | AskWalk | AskTestPattern | AskTelemetry


class AskService:
    """A fleet listener. `ask` blocks its caller's thread, never the loop."""

    def __init__(self, loop: FleetLoop) -> None:
        self._loop = loop
        self._waiting: dict[str, tuple[tuple[str, str], Future[Done | Declined]]] = {}

    def ask(self, venue: str, node: str, question: PersonsQuestion) -> Done:
        """Ask and wait for the answer.

        Raises NotFoundError, ConflictError (the node is off, or declines and says why), UnavailableError (no answer).
        """
        correlation, future = self._loop.call(lambda now_s: self._send(venue, node, question, now_s))
        try:
            answer = future.result(LIFETIME_S)
        except TimeoutError as error:
            raise UnavailableError(
                f"{node} did not answer within {LIFETIME_S:.0f} s; it may be reconnecting: look at its findings"
            ) from error
        finally:
            self._loop.call(lambda _now_s: self._waiting.pop(correlation, None))
        if isinstance(answer, Declined):
            raise ConflictError(f"{node} declines: {answer.reason}")
        return answer

    def node_changed(self, node: NodeState, leaf: Leaf, _now_s: float) -> None:
        if leaf is not Leaf.ANSWER or node.answer is None:
            return
        key, future = self._waiting.get(node.answer.correlation, (None, None))
        answer = node.answer.answer
        if future is not None and key == node.key and isinstance(answer, Done | Declined) and not future.done():
            future.set_result(answer)

    def link_changed(self, connected: bool, now_s: float) -> None:
        pass

    def tick(self, now_s: float) -> None:
        pass

    def _send(
        self, venue: str, node: str, question: PersonsQuestion, now_s: float
    ) -> tuple[str, Future[Done | Declined]]:
        state = self._loop.state.nodes.get((venue, node))
        if state is None:
            raise NotFoundError("node", node)
        if not state.online:
            raise ConflictError(f"{node} is not connected, so it cannot be asked; its finding says what to check")
        if len(self._waiting) >= MAX_WAITING:
            raise UnavailableError(f"{MAX_WAITING} questions already wait for answers; try again in a moment")
        correlation = send_question(self._loop, state.key, question, now_s)
        future: Future[Done | Declined] = Future()
        self._waiting[correlation] = (state.key, future)
        return correlation, future
