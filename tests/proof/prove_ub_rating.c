/* SPDX-License-Identifier: MIT */
#include "core/rating.h"
#include "tests/proof/ub.h"

struct td_rating_s3 nondet_s3(void);

int main(void)
{
	const struct td_rating_s3 s3 = nondet_s3();

	td_rating_s2_ppm(nondet_ns(), nondet_ns());
	td_rating_s3_ppm(&s3);
	td_rating_on_ns(&s3);
	td_rating_off_ns(&s3);
	td_rating_is_intermittent(&s3);
	REACHED();
	return 0;
}
