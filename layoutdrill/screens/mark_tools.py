"""The keys that take a tool of marking up: an action each."""

from abc import abstractmethod

TOOLS_OF = frozenset(
    (
        "mark_wire",
        "mark_point",
        "mark_contact",
        "mark_transistor",
        "mark_port",
        "mark_region",
        "mark_repeat",
        "measure",
        "join_stages",
        "rename_net",
        "remove_mark",
    )
)


class MarkTools:
    """What the marking screen does by those keys: it takes the tool up."""

    @abstractmethod
    def take(self, name: str) -> None:
        """Take a tool up, and lay aside what was begun with another."""

    def act_mark_wire(self) -> None:
        self.take("wire")

    def act_mark_point(self) -> None:
        self.take("point")

    def act_mark_contact(self) -> None:
        self.take("contact")

    def act_mark_transistor(self) -> None:
        self.take("transistor")

    def act_mark_port(self) -> None:
        self.take("port")

    def act_mark_region(self) -> None:
        self.take("region")

    def act_mark_repeat(self) -> None:
        self.take("repeat")

    def act_measure(self) -> None:
        self.take("measure")

    def act_join_stages(self) -> None:
        self.take("join")

    def act_remove_mark(self) -> None:
        self.take("remove")

    def act_rename_net(self) -> None:
        self.take("rename")
