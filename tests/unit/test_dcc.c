/* The machine-readable certificate of records made by hand: what stands in it, and that it keeps the schema's rules. */
#include "unit/switch_sample.h"
#include "unit/dcc_check.h"

#include <pthread.h>
#include "report/dcc.h"

/* The document of a sample, checked; the caller frees it. */
static char *written(const struct sample *s, size_t *size)
{
	struct err err = {0};
	char *bytes = NULL;

	if (dcc_xml(&s->r, &s->options, &bytes, size, &err) != OK) {
		print_error("refused: %s\n", err.message);
		fail();
	}
	assert_dcc(bytes, *size);
	return bytes;
}

struct question {
	const char *path, *answer;
};

static void asked(struct sample *s, const struct question *questions, size_t n)
{
	size_t size;
	char *bytes = written(s, &size);

	for (size_t i = 0; i < n; i++)
		assert_dcc_says(bytes, size, questions[i].path, questions[i].answer);
	free(bytes);
	free(s);
}

#define ASKED(sample, questions) asked(sample, questions, sizeof questions / sizeof questions[0])

/* The figures and words are those given in unit/certificate_sample.h. */
static void it_says_who_what_and_when(void **state)
{
	static const struct question questions[] = {
		{"string(//dcc:uniqueIdentifier)", "BWW-2026-0017"},
		{"string(//dcc:receiptDate)", "2026-03-14"},
		{"string(//dcc:beginPerformanceDate)", "2026-03-14"},
		{"string(//dcc:endPerformanceDate)", "2026-03-14"},
		{"string(//dcc:issueDate)", "2026-03-15"},
		{"string(//dcc:performanceLocation)", "customer"},
		{"string(//dcc:calibrationLaboratory/dcc:contact/dcc:name)", "Brackenholm Water Works"},
		{"string(//dcc:contact/dcc:location/dcc:further/dcc:content[2])", "Brackenholm"},
		{"string(//dcc:dccSoftware//dcc:name)", "Loopledger"},
		{"string(//dcc:dccSoftware//dcc:release)", "0.1.0"},
		{"string(//dcc:item/dcc:name)", "FCV-2107, Filter 2 outlet flow control valve"},
		{"string(//dcc:item/dcc:manufacturer)", "Aldercote"},
		{"string(//dcc:item/dcc:model)", "DV-40"},
		{"string(//dcc:item//dcc:identification[dcc:issuer='manufacturer']/dcc:value)", "A-19-20773"},
		{"string(//dcc:item//dcc:identification[dcc:issuer='customer']/dcc:value)", "FCV-2107"},
		{"string(//dcc:item//dcc:content[@refType='loopledger_condition'])",
		 "As received: Clean, positioner cover tight, no leak at the stem."},
		{"string(//dcc:respPerson[1]//dcc:name)", "Maren Oldfield"},
		{"string(//dcc:respPerson[1]/dcc:role)", "technician"},
		{"string(//dcc:respPerson[1]//dcc:content[@refType='loopledger_signedAt'])", "2026-03-14T11:40:07Z"},
		{"string(//dcc:respPerson[dcc:mainSigner='true']//dcc:name)", "Tomas Verrin"},
		{"string(//dcc:cryptElectronicSeal)", "false"},
		{"string(count(//comment()))", "1"},
	};

	(void)state;
	ASKED(sample_adjusted(), questions);
}

static void who_issued_without_a_signature_has_no_time_of_signing(void **state)
{
	static const struct question issued[] = {
		{"count(//dcc:respPerson)", "3"},
		{"string(//dcc:respPerson[3]//dcc:name)", "Tomas Verrin"},
		{"count(//dcc:respPerson[3]//dcc:content[@refType='loopledger_signedAt'])", "0"},
	};
	static const struct question approved[] = {
		{"count(//dcc:respPerson)", "4"},
		{"string(//dcc:respPerson[dcc:mainSigner='true']//dcc:name)", "Edda Quill"},
		{"count(//dcc:respPerson[dcc:mainSigner='true'])", "1"},
		{"count(//dcc:respPerson[3]//dcc:content[@refType='loopledger_signedAt'])", "1"},
		{"string(//dcc:respPerson[4]//dcc:name)", "Tomas Verrin"},
	};
	struct sample *s = sample_adjusted();

	(void)state;
	asked(sample_adjusted(), issued, 3);
	s->signatures[2] = (struct record_signature){"approved", "Edda Quill", "quality manager",
						     "",	 "p9",	       SAMPLE_OPENED};
	s->r.n_signatures = 3;
	asked(s, approved, 5);
}

static void standards_carry_their_certificate_uncertainty_and_validity(void **state)
{
	static const struct question questions[] = {
		{"string(count(//dcc:measuringEquipment))", "2"},
		{"string(//dcc:measuringEquipment[@id='standard_input']/dcc:name)", "REF-011, Loop calibrator"},
		{"string(//dcc:measuringEquipment[1]//dcc:identification[@refType='loopledger_certificateNumber']/dcc:value)",
		 "HML-25-3381"},
		{"string(//dcc:measuringEquipment[1]//dcc:identification[@refType='loopledger_validUntil']/dcc:value)",
		 "2026-09-01"},
		{"string(//dcc:measuringEquipment[1]//*[@refType='loopledger_expandedUncertainty']//si:value)",
		 "0.004"},
		{"string(//dcc:measuringEquipment[1]//*[@refType='loopledger_expandedUncertainty']//si:unit)",
		 "\\milli\\ampere"},
		{"string(//dcc:measuringEquipment[1]//*[@refType='loopledger_coverageFactor']//si:value)", "2"},
		{"string(//dcc:statement[dcc:reference='7.8.4.1 c']/dcc:traceable)", "true"},
	};

	(void)state;
	ASKED(sample_adjusted(), questions);
}

static void the_environment_is_a_condition_of_influence(void **state)
{
	static const struct question questions[] = {
		{"string(//dcc:influenceCondition[@refType='basic_temperature']//si:value)", "17.5"},
		{"string(//dcc:influenceCondition[@refType='basic_temperature']//si:unit)", "\\degreecelsius"},
		{"string(//dcc:influenceCondition[@refType='basic_humidityRelative']//si:value)", "61"},
		{"string(//dcc:influenceCondition[@refType='basic_humidityRelative']//si:unit)", "\\percent"},
		/* no pressure was recorded */
		{"string(count(//dcc:measurementResults/dcc:influenceConditions/dcc:influenceCondition))", "2"},
	};

	(void)state;
	ASKED(sample_adjusted(), questions);
}

/* Nine points each, up and down; the second run after the adjustment. */
static void as_found_and_as_left_stand_apart(void **state)
{
	static const struct question questions[] = {
		{"string(count(//dcc:measurementResult))", "2"},
		{"string(//dcc:measurementResult[@refType='loopledger_asFound']//dcc:status)", "beforeAdjustment"},
		{"string(//dcc:measurementResult[@refType='loopledger_asLeft']//dcc:status)", "afterAdjustment"},
		{"string(//dcc:measurementResult[1]/dcc:measurementMetaData//dcc:conformity)", "fail"},
		{"string(//dcc:measurementResult[2]/dcc:measurementMetaData//dcc:conformity)", "pass"},
		{"string(//dcc:measurementResult[1]//dcc:quantity[@refType='loopledger_direction']/dcc:charsXMLList)",
		 "rising rising rising rising rising falling falling falling falling"},
		{"string(//dcc:measurementResult[1]//dcc:quantity[@refType='loopledger_setPoint']//si:valueXMLList)",
		 "4.00 8.00 12.00 16.00 20.00 16.00 12.00 8.00 4.00"},
		{"string(//dcc:measurementResult[1]//dcc:quantity[@refType='basic_measurementError']//si:unitXMLList)",
		 "\\percent"},
		{"string(//dcc:measurementResult[2]//dcc:quantity[@refType='basic_measurementError']//dcc:conformityXMLList)",
		 "pass pass pass pass pass pass pass pass pass"},
		{"string(//dcc:measurementResult[1]//si:coverageFactorXMLList)", "2"},
		{"string(//dcc:measurementResult[1]//si:coverageProbabilityXMLList)", "0.95"},
	};

	(void)state;
	ASKED(sample_adjusted(), questions);
}

/* One figure a column, read from the document and asked of the core. */
static void figures_are_those_of_the_screens(void **state)
{
	struct sample *s = sample_adjusted();
	const struct record_run *run = &s->r.runs[0];
	char wanted[NUMBER_TEXT_SIZE], *text, *p;
	size_t size;
	char *bytes = written(s, &size);

	(void)state;
	text = dcc_ask(bytes, size,
		       "string(//dcc:measurementResult[1]//dcc:quantity[@refType='basic_measurementError']"
		       "/si:realListXMLList/si:valueXMLList)");
	p = text;
	for (size_t i = 0; i < run->n_points; i++) {
		/* limits of 1 % of a span of 100 %: two digits are one decimal */
		format_number(run->points[i].judged.error, 1, false, wanted);
		assert_int_equal(strncmp(p, wanted, strlen(wanted)), 0);
		p += strlen(wanted) + 1;
	}
	free(text);
	free(bytes);
	free(s);
}

static void an_error_below_zero_has_a_plain_minus(void **state)
{
	struct sample *s = sample_new();
	size_t size;
	char *bytes, *text;

	(void)state;
	sample_run(s, RUN_AS_FOUND, 5, 1, -1.3, 0, 0);
	bytes = written(s, &size);
	text = dcc_ask(bytes, size, "string(//*[@refType='basic_measurementError']//si:valueXMLList)");
	assert_int_equal(text[0], '-');
	free(text);
	free(bytes);
	free(s);
}

static void a_guard_band_shows_in_acceptance_limits_and_conditional_verdicts(void **state)
{
	struct sample *s = sample_new();
	size_t size;
	char *bytes, *text;

	(void)state;
	s->r.procedure.decision = (struct decision_rule){DECISION_GUARDED, 1};
	s->r.standards[1].expanded_uncertainty = 0.4;
	sample_run(s, RUN_AS_FOUND, 5, 1, 0.8, 0, 0); /* limits 1 %, U about 0.4 %: 0.8 % is inside, nearer than U */
	bytes = written(s, &size);
	text = dcc_ask(bytes, size, "string(//dcc:conformityXMLList)");
	assert_non_null(strstr(text, "conditionalPass"));
	free(text);
	assert_dcc_says(bytes, size, "string(//dcc:measurementResult/dcc:measurementMetaData//dcc:conformity)",
			"conditionalPass");
	assert_dcc_says(
		bytes, size,
		"string(substring-before(//*[@refType='loopledger_toleranceLimitUpper']//si:valueXMLList, ' '))",
		"1.0");
	assert_dcc_says(
		bytes, size,
		"string(number(substring-before(//*[@refType='basic_acceptanceLimitUpper']//si:valueXMLList, ' ')) < 0.7)",
		"true");
	free(bytes);
	free(s);
}

static void without_limits_there_is_no_verdict(void **state)
{
	struct sample *s = sample_new();
	size_t size;
	char *bytes;

	(void)state;
	s->r.procedure.as_found = (struct tolerance){0};
	sample_run(s, RUN_AS_FOUND, 5, 1, 0.8, 0, 0);
	bytes = written(s, &size);
	assert_dcc_says(bytes, size, "string(count(//dcc:conformity | //dcc:conformityXMLList))", "0");
	free(bytes);
	free(s);
}

/* psi is no unit of the SI Brochure: 1 psi = 6894.757 Pa (NIST SP 811, B.8). */
static void a_trade_unit_is_given_with_its_si_value(void **state)
{
	struct sample *s = sample_new();
	size_t size;
	char *bytes, *text;

	(void)state;
	s->r.instrument.output_unit = "psi(g)";
	s->r.instrument.output_quantity = "pressure";
	s->r.instrument.output = (struct range){3, 15};
	s->r.standards[1].unit = "psi(g)";
	s->r.output_decimals = 2;
	sample_run(s, RUN_AS_FOUND, 5, 1, 0.2, 0, 0);
	bytes = written(s, &size);
	assert_dcc_says(bytes, size,
			"string(//*[@refType='basic_measuredValue']//si:realListXMLList[1]/si:unitXMLList)",
			"\\pascal");
	assert_dcc_says(bytes, size,
			"string(//*[@refType='basic_measuredValue']//si:realListXMLList[2]/si:unitXMLList)", "psi(g)");
	assert_dcc_says(bytes, size, "string(//*[@refType='basic_measuredValue']//dcc:nonSIUnit)", "psi(g)");
	text = dcc_ask(bytes, size, "string(//dcc:itemQuantity[4]//si:real[1]/si:value)");
	assert_near(strtod(text, NULL), 15 * 6894.757, 0.5); /* 15 psi is given to 1 psi: whole pascals say it all */
	free(text);
	free(bytes);
	free(s);
}

static void temperatures_are_in_degrees_and_their_errors_in_kelvins(void **state)
{
	struct sample *s = sample_new();
	static const struct question questions[] = {
		{"string(//*[@refType='basic_measuredValue']//si:unitXMLList)", "\\degreecelsius"},
		{"string(//*[@refType='basic_measurementError']/si:realListXMLList/si:unitXMLList)", "\\kelvin"},
		{"string(//*[@refType='loopledger_toleranceLimitUpper']//si:unitXMLList)", "\\kelvin"},
	};

	(void)state;
	s->r.instrument.output_unit = "°C";
	s->r.standards[1].unit = "°C";
	sample_run(s, RUN_AS_FOUND, 5, 1, 0.2, 0, 0);
	ASKED(s, questions);
}

static void a_scale_outside_the_si_is_told_in_words(void **state)
{
	struct sample *s = sample_new();
	static const struct question questions[] = {
		{"string(//*[@refType='basic_measuredValue']//si:unitXMLList)", "\\one"},
		{"string(//*[@refType='basic_measuredValue']//dcc:nonSIUnit)", "pH"},
	};

	(void)state;
	s->r.instrument.output_unit = "pH";
	s->r.standards[1].unit = "pH";
	s->r.instrument.output = (struct range){0, 14};
	sample_run(s, RUN_AS_FOUND, 5, 1, 0.2, 0, 0);
	ASKED(s, questions);
}

/* Errors and dead bands by subtraction; 1 bar = 100 000 Pa. */
static void a_switch_is_told_actuation_by_actuation(void **state)
{
	static const struct question questions[] = {
		{"string(count(//dcc:result[@refType='loopledger_readings']))", "0"},
		{"string(//dcc:list/dcc:quantity[@refType='basic_measuredValue']//si:realListXMLList[2]/si:valueXMLList)",
		 "16.07 15.98 16.25"},
		{"string(//dcc:list/dcc:quantity[@refType='basic_measuredValue']//si:realListXMLList[1]/si:valueXMLList)",
		 "1607000 1598000 1625000"},
		{"string(//dcc:list[dcc:dateTimeXMLList]/dcc:quantity[@refType='loopledger_resetValue']//si:realListXMLList[2]/si:valueXMLList)",
		 "14.96 14.90 15.00"},
		{"string(//dcc:quantity[@refType='basic_measurementError']/si:hybrid/si:realListXMLList[2]/si:valueXMLList)",
		 "0.07 -0.02 0.25"},
		{"string(//dcc:quantity[@refType='basic_measurementError']/si:hybrid/si:realListXMLList[2]//si:valueExpandedMUXMLList)",
		 "0.020 0.020 0.020"},
		{"string(//dcc:quantity[@refType='basic_measurementError']//dcc:conformityXMLList)", "pass pass fail"},
		{"string(//dcc:quantity[@refType='loopledger_deadBand']/si:hybrid/si:realListXMLList[2]/si:valueXMLList)",
		 "1.11 1.08 1.25"},
		{"string(//dcc:quantity[@refType='loopledger_deadBand']//dcc:conformityXMLList)", "pass pass pass"},
		{"string(//dcc:quantity[@refType='loopledger_deadBandGreatest']//si:realListXMLList[2]/si:valueXMLList)",
		 "2.00 2.00 2.00"},
		{"string(count(//*[@refType='loopledger_resetError']))", "0"},
		{"string(//dcc:itemQuantity[@refType='loopledger_switchPoint']//si:real[2]/si:value)", "16"},
		{"string(//dcc:quantity[@refType='loopledger_setErrorMean']//si:real[2]/si:value)", "0.10"},
		{"string(//dcc:measurementResult/dcc:measurementMetaData//dcc:conformity)", "fail"},
	};

	(void)state;
	ASKED(sample_switch(), questions);
}

static void a_dead_band_is_told_place_by_place(void **state)
{
	static const struct question questions[] = {
		{"string(//dcc:result[@refType='loopledger_deadBands']//dcc:quantity[@refType='loopledger_movedRising']//si:valueXMLList)",
		 "5.61 12.02"},
		{"string(//dcc:result[@refType='loopledger_deadBands']//dcc:quantity[@refType='loopledger_movedFalling']//si:valueXMLList)",
		 "5.60 11.97"},
		{"string(//dcc:quantity[@refType='loopledger_deadBand']//dcc:conformityXMLList)", "pass fail"},
	};
	struct sample *s = sample_adjusted();

	(void)state;
	sample_dead_band(s);
	ASKED(s, questions);
}

static void a_missing_standard_reading_or_serial_number_leaves_a_valid_document(void **state)
{
	struct sample *s = sample_new();
	static const struct question questions[] = {
		{"string(count(//dcc:measuringEquipment))", "0"},
		{"string(count(//dcc:measurementResult))", "1"},
		{"string(//dcc:result//dcc:text)", "No reading was taken."},
		{"string(count(//dcc:traceable))", "0"},
		{"string(//dcc:customer/dcc:location)", "address not recordedarea Filters"},
	};

	(void)state;
	s->r.n_standards = 0;
	s->r.instrument.serial = s->r.instrument.maker = s->r.instrument.model = s->r.instrument.location = NULL;
	s->r.condition = s->r.remarks = NULL;
	s->r.has_environment = false;
	s->options.plant_address = NULL;
	ASKED(s, questions);
}

/* XML 1.0, production 2: most control characters cannot stand in a document at all. */
static void characters_that_xml_cannot_hold_do_not_break_it(void **state)
{
	struct sample *s = sample_adjusted();
	static const struct question questions[] = {
		{"string(//dcc:statement[@refType='loopledger_remarks']/dcc:declaration)",
		 "bell \xef\xbf\xbd and <tags> & \"quotes\" ]]>"},
		{"string(//dcc:item/dcc:model)", "DV 40"},
	};

	(void)state;
	s->r.remarks = "bell \a and <tags> & \"quotes\" ]]>";
	s->r.instrument.model = "  DV 40\n";
	ASKED(s, questions);
}

static void a_withdrawn_certificate_says_so(void **state)
{
	struct sample *s = sample_adjusted();
	static const struct question questions[] = {
		{"string(//dcc:statement[1]/dcc:valid)", "false"},
		{"string(//dcc:statement[1]/dcc:date)", "2026-03-16"},
		{"string(//dcc:respPerson[4]//dcc:name)", "Ines Halloran"},
	};

	(void)state;
	s->r.state = RECORD_VOID;
	s->r.certificate_state = "void";
	s->signatures[2] = (struct record_signature){
		"voided", "Ines Halloran", "metrology lead", "Wrong valve", "p2", SAMPLE_OPENED + 2880 * SAMPLE_MINUTE};
	s->r.n_signatures = 3;
	ASKED(s, questions);
}

static void the_largest_record_is_valid_too(void **state)
{
	struct sample *s = sample_new();
	size_t size;
	char *bytes;

	(void)state;
	sample_run(s, RUN_AS_FOUND, 11, 10, 0.2, 0.1, 0.1);
	sample_run(s, RUN_AS_LEFT, 11, 10, 0.1, 0.1, 0.1);
	bytes = written(s, &size);
	assert_dcc_says(bytes, size, "string(//*[@refType='loopledger_repeatability']//si:unit)", "\\percent");
	free(bytes);
	free(s);
}

static void a_record_without_number_or_with_an_unknown_unit_is_refused(void **state)
{
	struct sample *s = sample_adjusted();
	struct err err = {0};
	char *bytes;
	size_t size;

	(void)state;
	s->r.instrument.input_unit = "furlong";
	assert_int_equal(dcc_xml(&s->r, &s->options, &bytes, &size, &err), INVALID);
	assert_non_null(strstr(err.message, "furlong"));
	assert_null(bytes);
	s->r.certificate_number = NULL;
	assert_int_equal(dcc_xml(&s->r, &s->options, &bytes, &size, &err), CONFLICT);
	free(s);
}

struct writer {
	pthread_t thread;
	const struct sample *s;
	char *bytes;
	size_t size;
	enum status rc;
};

static void *write_in_thread(void *argument)
{
	struct writer *writer = argument;
	struct err err = {0};

	writer->rc = dcc_xml(&writer->s->r, &writer->s->options, &writer->bytes, &writer->size, &err);
	return NULL;
}

static void equal_records_give_equal_bytes_on_every_thread(void **state)
{
	struct writer writers[8] = {0};
	struct sample *s = sample_adjusted();

	(void)state;
	for (size_t i = 0; i < 8; i++) {
		writers[i].s = s;
		assert_int_equal(pthread_create(&writers[i].thread, NULL, write_in_thread, &writers[i]), 0);
	}
	for (size_t i = 0; i < 8; i++) {
		pthread_join(writers[i].thread, NULL);
		assert_int_equal(writers[i].rc, OK);
		assert_int_equal(writers[i].size, writers[0].size);
		assert_memory_equal(writers[i].bytes, writers[0].bytes, writers[0].size);
	}
	for (size_t i = 0; i < 8; i++)
		free(writers[i].bytes);
	free(s);
}

/* The check itself can fail: each of these breaks one rule. */
static void our_own_check_finds_what_is_wrong(void **state)
{
	static const struct {
		const char *from, *to, *blame;
	} broken[] = {
		{"<dcc:receiptDate>2026-03-14</dcc:receiptDate>", "", "receiptDate"},
		{"<dcc:release>0.1.0</dcc:release>", "<dcc:release></dcc:release>", "empty"},
		{"<si:unit>\\milli\\ampere</si:unit>", "<si:unit>\\milli\\amp</si:unit>", "no unit"},
		{"<si:unit>\\milli\\ampere</si:unit>", "<si:unit>\\bar</si:unit>", "no unit"},
		{"<si:value>0.004</si:value>", "<si:value>0,004</si:value>", "no number"},
		{"<si:valueXMLList>4.00 ", "<si:valueXMLList>4.00 4.00 ", "not as long"},
		{"refId=\"standard_output\"", "refId=\"standard_input2\"", "points at nothing"},
		{"refType=\"basic_measuredValue\"", "refType=\"basic_observedValue\"", "nobody has published"},
		{"<dcc:mainSigner>true</dcc:mainSigner>", "<dcc:mainSigner>true</dcc:mainSigner><dcc:role>x</dcc:role>",
		 "too many"},
	};
	struct sample *s = sample_adjusted();
	size_t size;
	char *bytes = written(s, &size);

	(void)state;
	for (size_t i = 0; i < sizeof broken / sizeof broken[0]; i++) {
		char *at = strstr(bytes, broken[i].from), *text;
		size_t before, rest;
		struct dcc_finding f;

		assert_non_null(at);
		before = (size_t)(at - bytes);
		rest = before + strlen(broken[i].from);
		text = calloc(1, size + 200);
		memcpy(text, bytes, before);
		strcpy(text + before, broken[i].to);
		strcat(text, bytes + rest);
		f = dcc_finding_of(text, strlen(text));
		if (!strstr(f.text, broken[i].blame))
			fail_msg("%s: \"%s\"", broken[i].to, f.text);
		free(text);
	}
	free(bytes);
	free(s);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
		cmocka_unit_test(it_says_who_what_and_when),
		cmocka_unit_test(who_issued_without_a_signature_has_no_time_of_signing),
		cmocka_unit_test(standards_carry_their_certificate_uncertainty_and_validity),
		cmocka_unit_test(the_environment_is_a_condition_of_influence),
		cmocka_unit_test(as_found_and_as_left_stand_apart),
		cmocka_unit_test(figures_are_those_of_the_screens),
		cmocka_unit_test(an_error_below_zero_has_a_plain_minus),
		cmocka_unit_test(a_guard_band_shows_in_acceptance_limits_and_conditional_verdicts),
		cmocka_unit_test(without_limits_there_is_no_verdict),
		cmocka_unit_test(a_trade_unit_is_given_with_its_si_value),
		cmocka_unit_test(temperatures_are_in_degrees_and_their_errors_in_kelvins),
		cmocka_unit_test(a_scale_outside_the_si_is_told_in_words),
		cmocka_unit_test(a_switch_is_told_actuation_by_actuation),
		cmocka_unit_test(a_dead_band_is_told_place_by_place),
		cmocka_unit_test(a_missing_standard_reading_or_serial_number_leaves_a_valid_document),
		cmocka_unit_test(characters_that_xml_cannot_hold_do_not_break_it),
		cmocka_unit_test(a_withdrawn_certificate_says_so),
		cmocka_unit_test(the_largest_record_is_valid_too),
		cmocka_unit_test(a_record_without_number_or_with_an_unknown_unit_is_refused),
		cmocka_unit_test(equal_records_give_equal_bytes_on_every_thread),
		cmocka_unit_test(our_own_check_finds_what_is_wrong),
	};

	dcc_schema_note();
	return cmocka_run_group_tests(tests, NULL, NULL);
}
