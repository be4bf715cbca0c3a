"""How much memory is left, as the kernel tells it."""

from node_agent.board_figures.tree import Tree


def memory_free_share(tree: Tree) -> float | None:
    """MemAvailable of MemTotal, proc_meminfo(5): what programs could have without swapping, caches given up."""
    figures: dict[str, int] = {}
    for line in (tree.text("proc/meminfo") or "").splitlines():
        name, _, rest = line.partition(":")
        words = rest.split()
        if words and words[0].isdecimal():
            figures[name] = int(words[0])
    total, available = figures.get("MemTotal"), figures.get("MemAvailable")
    if not total or available is None:
        return None
    return min(available / total, 1.0)
