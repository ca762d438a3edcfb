# Pinned by version; whoever builds for others pins the digest too: FROM python:3.11.14-slim-trixie@sha256:...
FROM python:3.11.14-slim-trixie AS build
WORKDIR /app
ENV UV_LINK_MODE=copy UV_PYTHON_DOWNLOADS=never
RUN python -m venv /opt/uv && /opt/uv/bin/pip install --no-cache-dir uv==0.9.30
COPY pyproject.toml uv.lock ./
RUN /opt/uv/bin/uv sync --frozen --no-dev --no-cache --compile-bytecode
COPY . .
# The key signs nothing here; a deployment brings its own.
RUN VAR_DIR=/tmp/build SECRET_KEY=$(python -c 'import secrets; print(secrets.token_urlsafe(60))') \
    .venv/bin/python manage.py collectstatic --noinput -i redoc

FROM python:3.11.14-slim-trixie
# The client that copies the database; its version follows Debian's, and is that of the server.
# hadolint ignore=DL3008
RUN apt-get update \
    && apt-get install --no-install-recommends --yes postgresql-client-17 \
    && rm -rf /var/lib/apt/lists/* \
    && useradd --create-home --uid 1000 register \
    && install -d -o register /data
WORKDIR /app
COPY --from=build /app /app
ENV PATH=/app/.venv/bin:$PATH \
    PYTHONUNBUFFERED=1 \
    PYTHONDONTWRITEBYTECODE=1 \
    OPENBLAS_NUM_THREADS=1 \
    MPLCONFIGDIR=/tmp/matplotlib \
    VAR_DIR=/data
USER 1000
VOLUME /data
EXPOSE 8000
CMD ["gunicorn", "--config", "python:fleet.gunicorn", "fleet.wsgi"]
