"""The day page and the one command it has so far: a run's field is changed."""

import secrets
from typing import Annotated

from fastapi import Form, HTTPException
from sqlalchemy.orm import Session
from starlette.requests import Request
from starlette.responses import Response
