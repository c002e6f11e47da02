# One image for web, worker, beat and the migrations; the command decides. See docker-compose.yml.
FROM python:3.11-slim-bookworm

ENV PYTHONUNBUFFERED=1 \
    PYTHONDONTWRITEBYTECODE=1 \
    SHOPCOOL_DATA=/data

RUN useradd --system --uid 10001 --user-group --home-dir /data shopcool \
    && install --directory --owner=shopcool --group=shopcool --mode=0750 /data

WORKDIR /app

# The packages change less often than the code, so they have a layer of their own.
COPY requirements.lock ./
RUN pip install --no-cache-dir --disable-pip-version-check --require-hashes --no-deps -r requirements.lock \
    && python -m compileall -q /usr/local/lib/python3.11/site-packages

COPY manage.py ./
COPY shopcool shopcool
COPY equipment equipment
COPY jobs jobs
COPY templates templates
RUN python -m compileall -q .

USER shopcool
VOLUME /data
EXPOSE 8000

HEALTHCHECK --interval=15s --timeout=5s --start-period=30s --retries=4 \
    CMD ["python", "-m", "shopcool.standalone.health", "http://127.0.0.1:8000/health/"]

CMD ["gunicorn", "shopcool.wsgi", "--config", "python:shopcool.standalone.web_server"]
