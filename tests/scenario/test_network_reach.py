"""What can be reached at all, against networkx and on small networks by hand."""

from __future__ import annotations

import networkx
from hypothesis import given, settings
from hypothesis import strategies as st

from mci.scenario.network import Network, Road, Window
from mci.scenario.reach import Reach

PLACES = "abcdef"


@settings(deadline=None, max_examples=60)
@given(
    roads=st.lists(
        st.tuples(st.sampled_from(PLACES), st.sampled_from(PLACES), st.booleans(), st.sampled_from([0, 60, 120])),
        max_size=12,
    )
)
def test_reach_is_that_of_the_graph(roads):
    """A place is reached if and only if it is the start or a descendant of it, over ways that are ever open."""
    network = Network(
        places=(),
        roads=tuple(
            Road(str(number), start, end, 5, (Window(0, shut),) if shut else (), on_foot)
            for number, (start, end, on_foot, shut) in enumerate(roads)
        ),
        vehicles=(),
        items={},
        stock=(),
        crews=1,
    )
    reach = Reach(network, horizon=120)
    for on_foot in (False, True, None):
        graph = networkx.DiGraph()
        graph.add_nodes_from(PLACES)
        graph.add_edges_from((s, e) for s, e, foot, shut in roads if on_foot in (None, foot) and shut < 120)
        for start in PLACES:
            assert reach.along(start, on_foot=on_foot) == networkx.descendants(graph, start) | {start}
