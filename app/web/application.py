"""The application as a FastAPI one whose addresses are found by their names without going through all of them."""

from functools import cached_property
from typing import Any

from fastapi import FastAPI
from starlette.datastructures import URLPath
from starlette.routing import BaseRoute


class Application(FastAPI):
    """Some pages ask for twenty addresses, and going through a hundred routes for each costs more than the page."""

    def url_path_for(self, name: str, /, **path_params: Any) -> URLPath:
        """The path of an address; all routes must be there when the first is asked for.

        Raises NoMatchFound for parameters that are not the address's, KeyError for an unknown name.
        """
        return self._named[name].url_path_for(name, **path_params)

    @cached_property
    def _named(self) -> dict[str, BaseRoute]:
        return {str(route.name): route for route in self.router.routes if hasattr(route, "name")}
