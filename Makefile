# SPDX-License-Identifier: MIT
# tripdog: build, tests, demo. `make help` lists the targets.

SHELL := /bin/bash
.DEFAULT_GOAL := all
.DELETE_ON_ERROR:
MAKEFLAGS += --no-builtin-rules

VERSION := 0.1.0

# A distribution's own level comes with its flags.
FORTIFY := $(if $(findstring _FORTIFY_SOURCE,$(CPPFLAGS) $(CFLAGS)),,-D_FORTIFY_SOURCE=2)

# --- variants: SAN=1 sanitizers, COV=1 coverage, FAULTS=1 faults on demand (daemon/test_faults.h) ----
ifeq ($(SAN),1)
VARIANT := san
VARIANT_FLAGS := -O1 -fsanitize=address,undefined -fno-sanitize-recover=all -fno-omit-frame-pointer
else ifeq ($(COV),1)
VARIANT := cov
VARIANT_FLAGS := -O0 --coverage
else ifeq ($(FAULTS),1)
VARIANT := fault
VARIANT_FLAGS := -O2 $(FORTIFY) -DTD_TEST_FAULTS
else
VARIANT := plain
VARIANT_FLAGS := -O2 $(FORTIFY)
endif
B := build/$(VARIANT)

# --- tools and flags -------------------------------------------------------------------------------
ifeq ($(origin CC),default)
CC := gcc
endif
AR := ar
PKG_CONFIG ?= pkg-config
PACKAGES := libevent_core jansson inih libgpiod
WARNINGS := -Wall -Wextra -Wpedantic -Werror -Wconversion -Wsign-conversion -Wshadow -Wstrict-prototypes \
	-Wmissing-prototypes -Wold-style-definition -Wundef -Wcast-qual -Wcast-align -Wwrite-strings -Wformat=2 \
	-Wswitch-enum -Wvla -Wpointer-arith -Woverride-init -Wimplicit-fallthrough
CFLAGS ?= -g
ALL_CFLAGS = -std=c11 $(VARIANT_FLAGS) $(CPPFLAGS) $(CFLAGS) $(WARNINGS) -fstack-protector-strong -MMD -MP \
	-Ilib -I. -DTD_VERSION='"$(VERSION)"' $(PKG_CFLAGS)
# lib/core sees nothing but the language: no POSIX, no GNU.
HOST_CFLAGS = -D_GNU_SOURCE

# Only the goals that compile need the libraries; the others run, or fetch them, without.
COMPILING := $(filter-out help clean packages check demo deb check-deb,$(or $(MAKECMDGOALS),all))
ifneq ($(COMPILING),)
PKG_CFLAGS := $(shell $(PKG_CONFIG) --cflags $(PACKAGES))
PKG_LIBS := $(shell $(PKG_CONFIG) --libs $(PACKAGES))
GPIOD_MAJOR := $(firstword $(subst ., ,$(shell $(PKG_CONFIG) --modversion libgpiod)))
endif
# Bound at the start: no look-up while something moves, and nothing to be bent afterwards.
LDFLAGS_ALL = $(VARIANT_FLAGS) -Wl,-z,relro -Wl,-z,now $(LDFLAGS)
LDLIBS_ALL = $(PKG_LIBS) -lm

# --- what there is ---------------------------------------------------------------------------------
MAINS := $(wildcard daemon/tripdogd.c daemon/tripdog.c sim/tripdog-sim.c)
CORE_SRC := $(sort $(wildcard lib/core/*.c))
# One source for libgpiod 2, one for 1.6: the installed version decides.
LIB_SRC := $(sort $(wildcard lib/*.c lib/*/*.c) $(wildcard lib/lines/gpio/gpiod$(GPIOD_MAJOR).c))
LEFT_OUT := $(MAINS) $(if $(filter fault,$(VARIANT)),,daemon/test_faults.c)
HOST_SRC := $(sort $(filter-out $(LEFT_OUT),$(wildcard daemon/*.c daemon/*/*.c sim/*.c sim/*/*.c)))
UNIT_SRC := $(sort $(wildcard tests/unit/test_*.c))
REPLAY_SRC := $(sort $(wildcard tests/replay/test_*.c))
E2E_SRC := $(sort $(wildcard tests/e2e/test_*.c))
BENCH_SRC := $(sort $(wildcard tests/bench/*.c))
SUPPORT_SRC := $(sort $(wildcard tests/support/*.c))
# tests/proof is the solver's: it sets the macros of those files and is their compiler.
C_FILES := $(sort $(filter-out tests/proof/%,$(wildcard lib/*.[ch] lib/*/*.[ch] daemon/*.[ch] daemon/*/*.[ch] sim/*.[ch] sim/*/*.[ch] tests/*/*.[ch])))

PROGRAMS := $(patsubst %,$(B)/%,$(notdir $(basename $(MAINS))))
BUILT_PAGES := $(patsubst docs/%.in,$(B)/man/%,$(wildcard docs/*.in))
obj = $(patsubst %.c,$(B)/obj/%.o,$(1))
UNIT_BIN := $(patsubst tests/unit/%.c,$(B)/tests/unit/%,$(UNIT_SRC))
REPLAY_BIN := $(patsubst tests/replay/%.c,$(B)/tests/replay/%,$(REPLAY_SRC))
E2E_BIN := $(patsubst tests/e2e/%.c,$(B)/tests/e2e/%,$(E2E_SRC))
BENCH_BIN := $(patsubst tests/bench/%.c,$(B)/tests/bench/%,$(BENCH_SRC))

# --- targets ---------------------------------------------------------------------------------------
.PHONY: all
all: $(PROGRAMS) $(BUILT_PAGES) ## build tripdogd, tripdog and tripdog-sim into build/plain (SAN=1: build/san)
	@mkdir -p build && ln -sfn $(VARIANT) build/latest

.PHONY: help
help: ## list the targets
	@awk -F':.*## ' '/^[a-z0-9-]+:.*## / { printf "  make %-12s %s\n", $$1, $$2 }' $(MAKEFILE_LIST)

.PHONY: packages
packages: ## install the system packages that are missing (root or sudo)
	@.ci/packages

.PHONY: check
check: packages ## everything that must pass before a change goes in (SAN=1: under the sanitizers)
	@$(MAKE) --no-print-directory -j$$(nproc) check-all

.PHONY: demo
demo: packages ## a daemon and a simulated glasshouse cart, driven through everything that goes wrong
	@$(MAKE) --no-print-directory -j$$(nproc) all
	@$(B)/tripdog-sim demo --programs $(B) --out build/demo

# The daemon with faults on demand (daemon/test_faults.h), for the tests that make it fail; never of another variant.
.PHONY: faults
faults:
	@$(MAKE) --no-print-directory SAN= COV= FAULTS=1 B=$(B)/fault $(B)/fault/tripdogd

# Every state is visited without the sanitizers only: they would take minutes and see the same paths as the unit tests. What
# the tree is like does not depend on them. Of the end-to-end tests those that wait for long are left out under them.
SAN_KINDS := unit replay $(addprefix e2e/,board scenes keep twist retell examples)
.PHONY: check-all
check-all: all $(UNIT_BIN) $(REPLAY_BIN) $(E2E_BIN) $(if $(SAN),,explore-programs) faults
	@tests/run $(B) $(if $(SAN),$(SAN_KINDS))

.PHONY: unit
unit: all $(UNIT_BIN) ## the unit tests alone
	@tests/run $(B) unit

.PHONY: replay
replay: all $(REPLAY_BIN) ## traces of every rule against the core, and against cores with one number changed
	@tests/run $(B) replay

.PHONY: e2e
e2e: all $(E2E_BIN) faults ## the end-to-end tests alone
	@tests/run $(B) e2e

# N steps or requests each; the tests of tests/unit run the same programs for less.
CAMPAIGN := campaign core_random supply
.PHONY: campaign
campaign: all $(patsubst %,$(B)/tests/unit/test_%,$(CAMPAIGN)) ## long random runs under the monitor, N=10000000 steps each
	@for t in $(CAMPAIGN); do \
		CMOCKA_MESSAGE_OUTPUT=TAP TD_STEPS=$(if $(filter command,$(origin N)),$(N),10000000) $(B)/tests/unit/test_$$t || exit 1; \
	done

.PHONY: bench
bench: all $(BENCH_BIN) ## the measurements in tests/bench
	@for b in $(BENCH_BIN); do echo "== $$b"; $$b $(B) || exit 1; done

.PHONY: format
format: ## bring the C sources into the house layout
	@clang-format -i $(C_FILES)

.PHONY: lint
lint: ## clang-format, clang-tidy, cppcheck
	@tests/lint $(C_FILES)

.PHONY: clean
clean: ## remove build/
	rm -rf build

# --- rules -----------------------------------------------------------------------------------------
$(B)/obj/lib/core/%.o: lib/core/%.c Makefile
	@mkdir -p $(@D)
	$(Q)$(CC) $(ALL_CFLAGS) -c -o $@ $<

$(B)/obj/%.o: %.c Makefile
	@mkdir -p $(@D)
	$(Q)$(CC) $(ALL_CFLAGS) $(HOST_CFLAGS) -c -o $@ $<

$(B)/libtripdog.a: $(call obj,$(LIB_SRC))
	@rm -f $@
	$(Q)$(AR) rcs $@ $^

$(B)/libhost.a: $(call obj,$(HOST_SRC))
	@rm -f $@
	$(Q)$(AR) rcs $@ $^

define program
$(B)/$(notdir $(basename $(1))): $(call obj,$(1)) $(B)/libhost.a $(B)/libtripdog.a
	$$(Q)$$(CC) $$(LDFLAGS_ALL) -o $$@ $$^ $$(LDLIBS_ALL)
endef
$(foreach main,$(MAINS),$(eval $(call program,$(main))))

# Pages around a table: a frame written by hand, and what the daemon says of the table.
$(B)/man/tripdog.conf.5: SUBJECT := config
$(B)/man/tripdog-protocol.7: SUBJECT := protocol
$(B)/man/tripdog-causes.7: SUBJECT := causes
$(BUILT_PAGES): $(B)/man/%: docs/%.in $(B)/tripdogd
	@mkdir -p $(@D)
	$(Q)$(B)/tripdogd --explain-$(SUBJECT)=mdoc >$@.table
	$(Q)sed -e '/^@TABLE@$$/{r $@.table' -e 'd;}' $< >$@

$(B)/libsupport.a: $(call obj,$(SUPPORT_SRC))
	@rm -f $@
	$(Q)$(AR) rcs $@ $^

.SECONDARY: $(call obj,$(UNIT_SRC) $(REPLAY_SRC) $(E2E_SRC) $(BENCH_SRC))
$(B)/tests/%: $(B)/obj/tests/%.o $(B)/libsupport.a $(B)/libhost.a $(B)/libtripdog.a
	@mkdir -p $(@D)
	$(Q)$(CC) $(LDFLAGS_ALL) -o $@ $^ $(LDLIBS_ALL) -lcmocka

include tests/kernel/kernel.mk tests/power/power.mk tests/trixie/trixie.mk tests/arm64/arm64.mk tests/fuzz/fuzz.mk tests/coverage/coverage.mk
include tests/mutation/mutation.mk tests/outside/outside.mk tests/explore/explore.mk tests/proof/proof.mk
include tests/service/service.mk systemd/install.mk systemd/deb/deb.mk

V ?= 0
Q = $(if $(filter 1,$(V)),,@)

-include $(shell find $(B)/obj -type f -name '*.d' 2>/dev/null)
