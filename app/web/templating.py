"""The templates' environment: filled in strictly, escaped always, addresses by name."""

from pathlib import Path
from typing import Any, Protocol

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from app.web.assets import Assets


class AddressBook(Protocol):
    """What knows every address by its name; the application does."""

    def url_path_for(self, name: str, /, **path_params: Any) -> str:
        """The path of an address."""


class Pages:
    """Renders templates; made once, each template compiled at the start."""

    def __init__(self, folder: Path, assets: Assets, addresses: AddressBook) -> None:
        self._environment = Environment(
            loader=FileSystemLoader(folder),
            autoescape=True,
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
            auto_reload=False,
        )

        def url_for(name: str, /, **parameters: str) -> str:
            return str(addresses.url_path_for(name, **parameters))

        def asset(name: str) -> str:
            return url_for("asset", name=assets.file(name))

        self._environment.globals |= {"url_for": url_for, "asset": asset}
        self._templates = {
            name: self._environment.get_template(name) for name in self._environment.list_templates(["html"])
        }

    def render(self, name: str, **context: object) -> str:
        """A template filled in. A name the template asks for and does not get is an error."""
        return self._templates[name].render(context)
