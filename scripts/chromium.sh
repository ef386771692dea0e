#!/bin/sh
# Browser tests need Debian's chromium: installed here when run as root with apt, asked for otherwise.
set -eu
for name in chromium chromium-browser; do
    if command -v "$name" >/dev/null 2>&1; then
        exit 0
    fi
done
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
    echo "backprobe: installing chromium for the browser tests (once)" >&2
    export DEBIAN_FRONTEND=noninteractive
    apt-get install -qq -y --no-install-recommends chromium fonts-dejavu-core >/dev/null 2>&1 ||
        { apt-get update -qq && apt-get install -qq -y --no-install-recommends chromium fonts-dejavu-core >/dev/null; }
    exit 0
fi
echo "backprobe: the browser tests need Chromium. On Debian: sudo apt install chromium" >&2
exit 1
