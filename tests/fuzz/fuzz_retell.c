/* SPDX-License-Identifier: MIT */
/*
 * Any entries as a trace: the account of a stop is told in words, whatever they hold. The first byte says which stop is
 * wanted, and whether a core runs beside; each entry is a byte for what it is and the bytes of it, short of zeros.
 */
#include <string.h>

#include "daemon/retell/retell.h"
#include "tests/fuzz/fuzz.h"

struct rest {
	const uint8_t *bytes;
	size_t count;
};

static const char config_text[] =
	"[machine]\nname = cart\nbackend = bench\nboard = b\nemergency_stop = halt\n"
	"[keeper]\nsocket = k\n[visitor]\nsocket = v\n"
	"[axis boom]\nways = lower raise\n"
	"[way boom lower]\ninput = cart:0\nend_switch = bottom\ntravel_ms = 1000\nbars = moving wheel\n"
	"[way boom raise]\ninput = cart:1\nend_switch = top\ntravel_ms = 2000\n"
	"[axis wheel]\nways = left right\nminute_s = 20\n"
	"[way wheel left]\ninput = cart:2\nhold_limit_ms = 500\nbars = off-end boom lower\n"
	"[way wheel right]\ninput = cart:3\nhold_limit_ms = 500\nbars = at-end boom raise\n"
	"[switch bottom]\nline = cart:10\n[switch top]\nline = cart:11\n"
	"[switch halt]\nline = cart:12\n";

static void take(struct rest *rest, void *out, size_t size)
{
	size_t count = rest->count < size ? rest->count : size;

	memset(out, 0, size);
	memcpy(out, rest->bytes, count);
	rest->bytes += count;
	rest->count -= count;
}

static const struct td_config *good_config(void)
{
	static struct td_config config;
	static struct td_config_faults faults;

	if (config.axes == 0)
		must(td_config_read_text(config_text, strlen(config_text), "x", &config, &faults),
		     "the configuration is good");
	return &config;
}

static void begin_trace(struct td_accountant *accountant, struct rest *rest, bool beside)
{
	static struct td_core core;
	struct {
		int64_t begin_ns;
		int64_t wall_ns;
		uint64_t number;
		uint32_t levels;
	} head;

	take(rest, &head, sizeof(head));
	head.begin_ns &= INT64_MAX;
	head.wall_ns = head.wall_ns & INT64_MAX;
	td_core_init(&core, &good_config()->rules, head.begin_ns);
	td_account_head(accountant, good_config(), beside ? &core : NULL, head.levels, head.begin_ns,
			head.wall_ns, head.number);
}

static void put_entry(struct td_accountant *accountant, struct rest *rest, uint8_t kind)
{
	struct td_entry entry;
	uint8_t size = 0;

	take(rest, &size, 1);
	struct rest own = {rest->bytes, size < rest->count ? size : rest->count};
	rest->bytes += own.count;
	rest->count -= own.count;
	take(&own, &entry, sizeof(entry));
	entry.kind = kind % 6;
	entry.at_ns &= INT64_MAX;
	td_account_entry(accountant, &entry);
}

static void tell(const struct td_accountant *accountant, int64_t now_ns)
{
	static struct td_tale tale;

	if (!accountant->account.found)
		return;
	td_tale_tell(&tale, &accountant->account, &accountant->config, now_ns, "x");
	must(tale.headline[0] != '\0' && tale.lines > 5, "it is told");
	for (size_t i = 0; i < tale.lines; i++)
		must(tale.line[i].text[0] != '\0' && strlen(tale.line[i].text) < TD_TALE_TEXT_MAX,
		     "each line says something");
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t count)
{
	static struct td_accountant accountant;
	struct rest rest = {bytes, count};
	uint8_t flags = 0;
	uint8_t what = 0;

	take(&rest, &flags, 1);
	td_account_begin(&accountant, flags & 1 ? TD_ACCOUNT_STOP : TD_ACCOUNT_TRIP);
	begin_trace(&accountant, &rest, (flags & 2) != 0);
	while (rest.count > 0) {
		take(&rest, &what, 1);
		if (what == 'h')
			begin_trace(&accountant, &rest, (flags & 4) != 0);
		else if (what == 'k')
			td_account_keep(&accountant);
		else if (what == 'l')
			td_account_lost(&accountant);
		else
			put_entry(&accountant, &rest, what);
	}
	tell(&accountant, flags & 8 ? INT64_MAX : 0);
	return 0;
}
