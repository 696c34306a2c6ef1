"""Tell which end of each switch between two signals is driven."""

from itertools import pairwise

from layoutdrill.recognise.view import Link, View
from layoutdrill.simulate.expression import Expression
from layoutdrill.simulate.minimal import complement

STEADY = 9
READ = 3
INPUT = 2


def direct(view: View) -> None:
    """
    Say which end of each link is driven: from steady gates on to what they feed, then from inputs inwards.

    A port that something reads, or that leads to one switch only, is taken for an input; one where several switches
    meet unread for an output. Where nothing tells, the link has no direction.
    """
    ports = view.ports
    weight = {end: _weight(view, end, ports) for end in dict.fromkeys(e for link in view.links for e in link.ends)}
    weight |= dict.fromkeys(_chosen_among(view, weight), INPUT)
    undecided = []
    for link in view.links:
        a, b = link.ends
        if STEADY in (weight[a], weight[b]):
            link.source = a if weight[a] > weight[b] else b if weight[b] > weight[a] else ""
        else:
            undecided.append(link)
    reached = dict.fromkeys((link.sink for link in view.links if link.source), 1)
    for link in list(undecided):  # from inputs, which lead to one switch or are read as well
        a, b = sorted(link.ends, key=lambda n: -weight[n])
        if weight[a] >= INPUT > weight[b] and a not in reached:
            link.source = a
            reached[b] = 1
            undecided.remove(link)
    _onward(undecided, reached, weight)
    for link in undecided:
        a, b = link.ends
        left, right = (weight[n] - (n in reached) for n in (a, b))
        if left == right and a in reached and b in reached:
            left, right = reached[b], reached[a]  # from the one that fewer switches lie before
        if a in reached and b in reached and len(led := [n for n in (a, b) if _only_led_to(view, n)]) == 1:
            left, right = (0, 1) if led == [a] else (1, 0)
        link.source = a if left > right else b if right > left else ""
    _from_whole(view, [link for link in undecided if not link.source])
    onward = {link.source for link in undecided if link.source}
    for link in undecided:  # a port beside a net that leads on leads in
        inside = [n for n in link.ends if n not in ports and n in onward]
        if not link.source and len(inside) == 1 and link.other(inside[0]) in ports:
            link.source = link.other(inside[0])


def _chosen_among(view: View, weight: dict[str, int]) -> list[str]:
    """
    Return the ports at which several switches meet unread, and which are inputs all the same.

    Wherever a switch leads from such a port, another takes over on the opposite level, so that the port is one of two
    that are chosen among. Where all its own switches take turns it might be led to instead, unless what is read lies
    beyond and nothing that is driven does.
    """
    whens = [view.rooted(link.when) for link in view.links]
    opposites: dict[Expression, Expression] = {when: complement(when) for when in whens}
    inputs = []
    for net, mine in view.links_at.items():
        if net not in view.ports or weight[net] != 0 or len(mine) < 2 or net in view.gates:
            continue
        if not all(_takes_over(view, view.links[k].other(net), k, opposites[whens[k]], whens) for k in mine):
            continue
        turns = all(opposites[whens[a]] == whens[b] for a, b in pairwise(mine)) and len(mine) == 2
        if not turns or _only_read_beyond(view, net, weight):
            inputs.append(net)
    return inputs


def _takes_over(view: View, net: str, number: int, opposite: Expression, whens: list[Expression]) -> bool:
    """Tell whether another switch, or a pull to a rail, is at a net on the opposite level of the one given."""
    if net in view.ports or view.steady(net):
        return False
    pull = view.pulled(net)
    return (pull is not None and view.rooted(pull[1]) == opposite) or any(
        k != number and whens[k] == opposite for k in view.links_at[net]
    )


def _only_read_beyond(view: View, net: str, weight: dict[str, int]) -> bool:
    """Tell whether switches lead from a net to nets that gates read, and to none that is driven."""
    seen, front, read = {net}, [net], False
    for here in front:
        if weight[here] >= READ:
            return False
        read = read or (here in view.readers and here not in view.ports)
        for k in view.links_at[here]:
            other = view.links[k].other(here)
            if other not in seen:
                seen.add(other)
                front.append(other)
    return read


def _onward(undecided: list[Link], reached: dict[str, int], weight: dict[str, int]) -> None:
    """Follow links, nearest first, from what is driven through another link to what is not."""
    level = 0
    while any(count >= level for count in reached.values()):
        level += 1
        for link in list(undecided):
            a, b = link.ends
            if (a in reached) == (b in reached):
                continue
            here, there = (a, b) if a in reached else (b, a)
            if reached[here] > level or weight[there] > 0:
                continue
            link.source = here
            reached[there] = reached[here] + 1
            undecided.remove(link)


def _from_whole(view: View, undecided: list[Link]) -> None:
    """Lead links out of nets that two switches on opposite levels already lead to, one after the other."""
    left = dict.fromkeys(undecided)
    front = list(dict.fromkeys(net for link in undecided for net in link.ends))
    for net in front:
        here = [view.links[k] for k in view.links_at[net]]
        into = [view.rooted(k.when) for k in here if k.source and k.sink == net]
        if len(into) != 2 or complement(into[0]) != into[1]:
            continue
        for link in [k for k in here if k in left]:
            link.source = net
            del left[link]
            front.append(link.sink)


def _only_led_to(view: View, net: str) -> bool:
    """Tell whether a net is a port that nothing inside reads or drives: switches lead to it."""
    return net in view.ports and not any(net in nets for nets in (view.readers, view.controlled, view.gates))


def _weight(view: View, net: str, ports: frozenset[str]) -> int:
    """Grade how much a net looks like the driven end of a link."""
    if view.steady(net):
        return STEADY
    read = net in view.readers or net in view.controlled
    if net in view.gates and view.gates[net].kind != "load":
        if view.pulled(net) and net not in ports:
            return -1 if read else 0
        return 1
    if net not in ports:
        return -1 if read else 0
    if read:
        return READ
    beyond = [view.links[k].other(net) for k in view.links_at[net]]
    leads_in = all(
        n in view.readers and n not in ports and (n not in view.gates or view.pulled(n) is not None) for n in beyond
    )
    return INPUT if len(beyond) == 1 or leads_in else 0
