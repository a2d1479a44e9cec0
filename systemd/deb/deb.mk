# SPDX-License-Identifier: MIT
# The Debian package: a copy of the tree with this directory as debian/, built as Debian builds.

# Built anew where a file that git tracks is newer; without git always.
ifneq ($(filter deb check-deb check-service bench-service,$(MAKECMDGOALS)),)
build/deb/made: $(or $(wildcard $(shell git ls-files 2>/dev/null)),always)
	@mkdir -p build
	@systemd/deb/build $(VERSION) >build/deb.log 2>&1 || { tail -n 40 build/deb.log; exit 1; }
	@touch $@
.PHONY: always
endif

.PHONY: deb
deb: build/deb/made ## the Debian package, in build/deb (packages: .ci/packages deb)
	@ls build/deb/*.deb

.PHONY: check-deb
check-deb: build/deb/made ## the Debian package built, judged by lintian, installed and removed in a tree of its own (root)
	@tests/deb/run build/deb
