"""How one computed number comes about, in words."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Place:
    """A page by the name of its address, and its title."""

    view: str
    title: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Method:
    """``key`` is its anchor and the name of its template, ``name`` what links call it, ``in_short`` what it is.

    ``behind``: where its readings stand; ``begin``: the page that leads there. ``sources``: standards and papers.
    ``modules``: what computes it. ``limits``: whether what it cannot say is a template of its own, since pages show it.
    """

    key: str
    name: str
    title: str
    in_short: str
    behind: str
    begin: Place
    sources: tuple[str, ...]
    modules: tuple[str, ...]
    limits: bool = False

    @property
    def template(self) -> str:
        return f"checks/methods/{self.key}.html"

    @property
    def limits_template(self) -> str:
        return f"checks/methods/limits/{self.key}.html"


@dataclass(frozen=True, slots=True)
class MethodGroup:
    """Methods that belong together."""

    key: str
    title: str
    methods: tuple[Method, ...]
