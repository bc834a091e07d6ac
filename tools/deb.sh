#!/bin/sh
# Makes a Debian package of a build directory: tools/deb.sh BUILD_DIRECTORY PACKAGE.deb
#
# The program runs from anywhere, so that a directory set up for /usr/local serves as well. What the program needs is found by asking it: the libraries that it loads, and the
# packages that they came from. Source: Debian Policy 4.6, 5.3 (binary package control files).
set -eu

build=$1
package=$2
case $package in
/*) ;;
*) package=$PWD/$package ;;
esac
root=$(mktemp -d)
trap 'rm -rf "$root"' EXIT

DESTDIR=$root meson install -C "$build" --no-rebuild --quiet
if [ -d "$root/usr/local" ]; then
    mv "$root/usr/local" "$root/moved"
    rmdir "$root/usr"
    mv "$root/moved" "$root/usr"
fi
# The program and what belongs to it; the library's static archive and headers would be a package of their own.
rm -rf "$root/usr/include"
find "$root/usr/lib" -name '*.a' -delete 2>/dev/null || true
find "$root/usr/lib" -depth -name pkgconfig -exec rm -r {} + 2>/dev/null || true
find "$root/usr" -depth -type d -empty -delete
find "$root/usr/share/man" -name '*.1' -exec gzip -9n {} +

# A merged /usr: the package may know a file by either name. One question for all files: each costs a look through the lists of every package there is.
libraries=$(ldd "$root/usr/bin/crosshatch" | awk '$3 ~ /^\// { print $3 }')
# shellcheck disable=SC2046,SC2086 # names of libraries hold no spaces
needs=$(dpkg-query -S $libraries $(readlink -f $libraries) 2>/dev/null | sed 's/:.*//' | sort -u | paste -sd, - | sed 's/,/, /g')
version=$("$root/usr/bin/crosshatch" --version | awk 'NR == 1 { print $2 }')

mkdir -p "$root/DEBIAN" "$root/usr/share/doc/crosshatch"
cp LICENSE "$root/usr/share/doc/crosshatch/copyright"
cat >"$root/DEBIAN/control" <<END
Package: crosshatch
Version: $version
Architecture: $(dpkg --print-architecture)
Maintainer: the crosshatch developers <crosshatch@localhost>
Section: science
Priority: optional
Depends: $needs
Recommends: fonts-dejavu-core
Installed-Size: $(du -ks "$root/usr" | cut -f 1)
Description: condition of an engine from compression and leak-down tests
 Judges the tests of an ageing engine, traces what is wrong, and plans the
 winter's work, for an owner who does it all at home. Keeps its records in one
 file on this machine and needs no account and no internet.
END
(cd "$root" && find usr -type f -exec md5sum {} + | LC_ALL=C sort -k 2) >"$root/DEBIAN/md5sums"
find "$root" -type d -exec chmod 755 {} +
SOURCE_DATE_EPOCH=${SOURCE_DATE_EPOCH:-$(git log -1 --format=%ct 2>/dev/null || date +%s)}
export SOURCE_DATE_EPOCH
dpkg-deb -Zgzip --root-owner-group --build "$root" "$package" >/dev/null
