# One image for the web server and the worker. Alone it runs everything on SQLite:
#   docker build -t coachhub . && docker run --init -p 8000:8000 -v coachhub:/data coachhub
# With PostgreSQL and Redis: see docker-compose.yml.
FROM python:3.11-slim

# The image is the environment: manage.py makes none of its own.
ENV COACHHUB_SYSTEM_PYTHON=1 \
    DATA_DIR=/data \
    PYTHONDONTWRITEBYTECODE=1 \
    PYTHONUNBUFFERED=1

WORKDIR /app
COPY requirements.txt .
RUN pip install --no-cache-dir --disable-pip-version-check -r requirements.txt
COPY . .
RUN python -m compileall -q athletes coachhub sessions \
    && useradd --uid 10001 --no-create-home --home-dir /data coachhub \
    && install -d -o coachhub -g coachhub /data

USER coachhub
VOLUME /data
EXPOSE 8000
HEALTHCHECK --interval=30s --timeout=10s --start-period=90s --retries=3 CMD ["python", "-m", "coachhub.alive"]
# Empty: the demo's passwords are known to everyone. To look at it: docker run … coachhub python manage.py start --host
# 0.0.0.0 --demo-open
CMD ["python", "manage.py", "start", "--host", "0.0.0.0", "--empty"]
