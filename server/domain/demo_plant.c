/* Brackenholm Water Works: everything on this page is invented. Tags follow ISA-5.1. */
#include "demo_internal.h"
#include "domain/permission.h"

const struct demo_person demo_people[DEMO_PEOPLE] = {
	{"ida", "Ida Holt", ROLE_TECHNICIAN},
	{"ben", "Ben Marsh", ROLE_TECHNICIAN},
	{"ruth", "Ruth Calder", ROLE_LEAD},
	{"owen", "Owen Pike", ROLE_LEAD},
	{"nell", "Nell Forster", ROLE_AUDITOR},
	{"sam", "Sam Reed", ROLE_ADMINISTRATOR},
};

enum { INTAKE, SCREENS, RAW_PUMPS, COAGULATION, DOSING, FLOCCULATORS, FILTERS, HALL, BACKWASH, CHLORINE, STORE, CONTACT,
       HIGH_LIFT, PUMP_HALL, SURGE, SLUDGE, THICKENER, PRESS };

const struct demo_area demo_areas[DEMO_AREAS] = {
	{"Raw water intake", -1}, {"Intake screens", INTAKE}, {"Raw water pumps", INTAKE},
	{"Coagulation", -1}, {"Dosing house", COAGULATION}, {"Flocculators", COAGULATION},
	{"Filters", -1}, {"Filter hall", FILTERS}, {"Backwash", FILTERS},
	{"Chlorine dosing", -1}, {"Chlorine store", CHLORINE}, {"Contact tank", CHLORINE},
	{"High-lift pumps", -1}, {"Pump hall", HIGH_LIFT}, {"Surge vessels", HIGH_LIFT},
	{"Sludge", -1}, {"Thickener", SLUDGE}, {"Press house", SLUDGE},
};

#define LINEAR "{\"kind\":\"linear\"}"
#define HOT_LINE "The impulse line is under pressure: isolate and vent it to a safe place before a fitting is opened."
#define LIVE_TERMINALS "24 V at the terminals; other loops of the same box stay live."

const struct demo_model demo_models[DEMO_MODELS] = {
	[M_PT] = {"transmitter", "Quillstrand", "QP-3", "pressure", "kPa", "current", "mA", 4, 20, LINEAR, 10.5, "PT-5", "PL-01", "MA-01",
		  2, 3, 0.5, 0.6, 0.1, {HOT_LINE, LIVE_TERMINALS}},
	[M_PT_HIGH] = {"transmitter", "Quillstrand", "QP-30", "pressure", "bar", "current", "mA", 4, 20, LINEAR, 10.5, "PT-5", "PH-01",
		       "MA-01", 3, 3, 0.5, 0.6, 0.1, {HOT_LINE, LIVE_TERMINALS}},
	[M_FT] = {"transmitter", "Quillstrand", "QD-7", "differential pressure", "kPa", "current", "mA", 4, 20,
		  "{\"kind\":\"square_root\"}", 10.5, "FT-4", "PL-01", "MA-01", 3, 3, 1.0, 0.6, 0.05, {HOT_LINE, LIVE_TERMINALS}},
	[M_LT] = {"transmitter", "Quillstrand", "QL-2", "hydrostatic pressure", "kPa", "current", "mA", 4, 20, LINEAR, 10.5, "LT-5",
		  "PL-01", "MA-01", 2, 3, 0.5, 0.6, 0.1, {"Work at an open tank edge: harness, and a second person.", LIVE_TERMINALS}},
	[M_TT] = {"transmitter", "Quillstrand", "QT-1", "temperature", "°C", "current", "mA", 4, 20, LINEAR, 9.0, "TT-5", "RS-01", "MA-01",
		  1, 3, 0.5, 0.7, 0, {LIVE_TERMINALS}},
	[M_TE] = {"sensing_element", "Quillstrand", "QE-100", "temperature", "°C", "resistance", "ohm", 0, 0,
		  "{\"kind\":\"rtd\",\"r0\":100}", 0, "TE-5", "TB-01", "OM-01", 1, 2, 0.5, 0, 0.05,
		  {"The block is hot enough to burn long after it is switched off."}},
	[M_TK] = {"sensing_element", "Quillstrand", "QE-K", "temperature", "°C", "voltage", "mV", 0, 0,
		  "{\"kind\":\"thermocouple\",\"type\":\"K\"}", 0, "TC-4", "TB-01", "MV-01", 1, 3, 1.5, 0, 0.05,
		  {"The block is hot enough to burn long after it is switched off."}},
	[M_PH] = {"analyser", "Thornwhistle", "TW-pH", "pH", "pH", "current", "mA", 4, 20, LINEAR, 12, "AT-3", "BU-01", "MA-01", 2, 2, 3,
		  0.6, 0, {"Buffers and cleaning acid: goggles and gloves."}},
	[M_NTU] = {"analyser", "Thornwhistle", "TW-T", "turbidity", "NTU", "current", "mA", 4, 20, LINEAR, 12, "AT-3", "FZ-01", "MA-01", 2, 2,
		   3, 0.6, 0, {"Formazin suspension: gloves, and no splashes to the eyes."}},
	[M_CL] = {"analyser", "Thornwhistle", "TW-Cl", "free chlorine", "mg/L", "current", "mA", 4, 20, LINEAR, 12, "AT-3", "CL-01", "MA-01",
		  2, 2, 4, 0.6, 0, {"Sample water holds free chlorine: ventilate, and watch the gas alarm."}},
	[M_SWITCH] = {"switch", "Quillstrand", "QS-1", "pressure", "bar", "switching pressure", "bar", 0, 0, LINEAR, 0, "PS-1", "PH-01", NULL,
		      3, 3, 2, 0.6, 0, {HOT_LINE}},
	[M_GAUGE] = {"indicator", "Quillstrand", "QG-100", "pressure", "bar", "indication", "bar", 0, 0, LINEAR, 0, "PI-5", "PH-01", NULL, 3,
		     2, 1.6, 0.7, 0, {HOT_LINE}},
	[M_VALVE] = {"control_valve", "Vennoric", "VX-200 with HART positioner", "current", "mA", "travel", "%", 0, 100, LINEAR, 8.5, "CV-5",
		     "MA-01", "TS-01", 2, 1, 3, 0.5, 0, {"Spring and air store energy: the stem can move without warning.",
							 "Pinch point between stem, yoke and travel scale."}},
};

/* tag, service, model, area, range of the input, months, group, offset, zero, per year, hysteresis, per year, jump */
const struct demo_instrument demo_instruments[] = {
	{"PDT-1101", "Screen 1 differential pressure", M_PT, SCREENS, 0, 10, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"PDT-1102", "Screen 2 differential pressure", M_PT, SCREENS, 0, 10, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"LT-1103", "Intake well level", M_LT, SCREENS, 0, 60, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"TT-1104", "Raw water temperature", M_TT, SCREENS, 0, 40, 12, G_REST, 0, 0, 0, 0, 0, 2},
	{"AIT-1105", "Raw water turbidity", M_NTU, SCREENS, 0, 100, 6, G_REST, 0, 0, 0, 0, 0, 0},
	{"AIT-1106", "Raw water pH", M_PH, SCREENS, 4, 10, 6, G_REST, 165, 0, 0, 0, 0, 1},
	{"PT-1110", "Raw water pump 1 delivery pressure", M_PT_HIGH, RAW_PUMPS, 0, 6, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"PT-1111", "Raw water pump 2 delivery pressure", M_PT_HIGH, RAW_PUMPS, 0, 6, 12, G_REST, 0, 0, 0, 0, 0, 3},
	{"PT-1112", "Raw water pump 3 delivery pressure", M_PT_HIGH, RAW_PUMPS, 0, 6, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"FT-1113", "Raw water main flow", M_FT, RAW_PUMPS, 0, 25, 6, G_REST, 0, 0, 0, 0, 0, 0},
	{"PSL-1114", "Raw water pump suction pressure low", M_SWITCH, RAW_PUMPS, 0, 1, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"TE-1115", "Raw water pump 1 bearing temperature", M_TE, RAW_PUMPS, 0, 120, 24, G_REST, 0, 0, 0, 0, 0, 0},
	{"TE-1116", "Raw water pump 2 bearing temperature", M_TE, RAW_PUMPS, 0, 120, 24, G_REST, 0, 0, 0, 0, 0, 0},

	{"LT-1201", "Coagulant tank A level", M_LT, DOSING, 0, 40, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"LT-1202", "Coagulant tank B level", M_LT, DOSING, 0, 40, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"FT-1203", "Carrier water flow", M_FT, DOSING, 0, 10, 6, G_REST, 0, 0, 0, 0, 0, 0},
	{"PT-1204", "Carrier water pressure", M_PT_HIGH, DOSING, 0, 10, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"FCV-1205", "Carrier water flow control", M_VALVE, DOSING, 4, 20, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"AIT-1206", "Flocculated water pH", M_PH, FLOCCULATORS, 4, 10, 6, G_REST, 0, 0, 0, 0, 0, 4},
	{"TT-1207", "Dosing house temperature", M_TT, DOSING, -10, 50, 24, G_REST, 0, 0, 0, 0, 0, 0},
	{"PI-1208", "Dosing pump delivery pressure", M_GAUGE, DOSING, 0, 10, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"LT-1209", "Flocculator outlet level", M_LT, FLOCCULATORS, 0, 20, 12, G_REST, 0, 0, 0, 0, 0, 0},

	{"PDT-2101", "Filter 1 loss of head", M_PT, HALL, 0, 30, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"PDT-2102", "Filter 2 loss of head", M_PT, HALL, 0, 30, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"PDT-2103", "Filter 3 loss of head", M_PT, HALL, 0, 30, 12, G_REST, 0, 0, 0, 0, 0, 2},
	{"PDT-2104", "Filter 4 loss of head", M_PT, HALL, 0, 30, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"PDT-2105", "Filter 5 loss of head", M_PT, HALL, 0, 30, 12, G_OVERDUE, -23, 0, 0, 0, 0, 0},
	{"PDT-2106", "Filter 6 loss of head", M_PT, HALL, 0, 30, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"PDT-2107", "Filter 7 loss of head", M_PT, HALL, 0, 30, 12, G_WEEK, 5, 0, 0, 0, 0, 0},
	{"FCV-2107", "Filter 7 backwash flow control", M_VALVE, BACKWASH, 4, 20, 6, G_WEEK, 1, 0.12, 0.11, 0.08, 0, 0},
	{"FT-2108", "Backwash flow", M_FT, BACKWASH, 0, 40, 6, G_WEEK, 1, 0, 0, 0, 0, 0},
	{"PT-2109", "Air scour pressure", M_PT, BACKWASH, 0, 100, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"AIT-2110", "Filtered water turbidity, line A", M_NTU, HALL, 0, 10, 3, G_WEEK, 3, 0, 0, 0, 0, 0},
	{"AIT-2111", "Filtered water turbidity, line B", M_NTU, HALL, 0, 10, 3, G_REST, 0, 0, 0, 0, 0, 0},
	{"LT-2112", "Clean backwash tank level", M_LT, BACKWASH, 0, 50, 12, G_OPEN, 2, 0, 0, 0, 0, 0},
	{"LCV-2113", "Filter inlet channel level control", M_VALVE, HALL, 4, 20, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"TT-2114", "Filter hall temperature", M_TT, HALL, -10, 50, 24, G_REST, 0, 0, 0, 0, 0, 0},
	{"PI-2115", "Air scour blower delivery pressure", M_GAUGE, BACKWASH, 0, 1.6, 12, G_REST, 0, 0, 0, 0, 0, 0},

	{"AIT-3101", "Free chlorine after the contact tank", M_CL, CONTACT, 0, 5, 3, G_WEEK, 2, 0.1, 0.9, 0, 0, 3},
	{"AIT-3102", "Free chlorine before the contact tank", M_CL, CONTACT, 0, 5, 3, G_OVERDUE, -9, 0, 0, 0, 0, 0},
	{"PT-3103", "Chlorine gas header pressure", M_PT_HIGH, STORE, 0, 10, 6, G_WEEK, 6, 0, 0, 0, 0, 0},
	{"PSL-3104", "Chlorine gas header pressure low", M_SWITCH, STORE, 0, 4, 6, G_REST, 0, 0, 0, 0, 0, 0},
	{"TT-3105", "Chlorine store temperature", M_TT, STORE, -10, 50, 12, G_REVIEW, 0, 0.1, 0.05, 0, 0, 0},
	{"FCV-3106", "Dosing water flow control", M_VALVE, CONTACT, 4, 20, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"LT-3107", "Contact tank level", M_LT, CONTACT, 0, 50, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"AIT-3108", "Treated water pH", M_PH, CONTACT, 4, 10, 3, G_WEEK, 4, 0, 0, 0, 0, 0},
	{"PSH-3109", "Dosing water pressure high", M_SWITCH, CONTACT, 0, 12, 12, G_REST, 0, 0, 0, 0, 0, 0},

	{"PT-4101", "Delivery main pressure", M_PT_HIGH, PUMP_HALL, 0, 16, 6, G_WEEK, 1, 0, 0, 0, 0, 0},
	{"PT-4102", "Suction header pressure", M_PT_HIGH, PUMP_HALL, 0, 4, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"PCV-4103", "Surge vessel air pressure control", M_VALVE, SURGE, 4, 20, 12, G_REST, 0, 0.05, 0.02, 0.06, 0, 0},
	{"LT-4104", "Surge vessel level", M_LT, SURGE, 0, 30, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"PSH-4105", "Delivery main pressure high", M_SWITCH, PUMP_HALL, 0, 20, 12, G_WEEK, 4, 0, 0, 0, 0, 1},
	{"TE-4106", "High-lift pump 1 motor bearing temperature", M_TE, PUMP_HALL, 0, 150, 24, G_WEEK, 7, 0, 0, 0, 0, 0},
	{"TE-4107", "High-lift pump 2 motor bearing temperature", M_TE, PUMP_HALL, 0, 150, 24, G_REST, 0, 0, 0, 0, 0, 0},
	{"TE-4108", "Standby generator oil temperature", M_TK, PUMP_HALL, 0, 150, 24, G_REST, 0, 0, 0, 0, 0, 0},
	{"FT-4109", "Delivery main flow", M_FT, PUMP_HALL, 0, 50, 6, G_REST, 0, 0, 0, 0, 0, 2},
	{"PI-4110", "Delivery main pressure", M_GAUGE, PUMP_HALL, 0, 16, 12, G_REVIEW, 0, 0.1, 0.05, 0, 0, 0},
	{"TT-4111", "Motor cooling water temperature", M_TT, PUMP_HALL, 0, 80, 12, G_REST, 0, 0, 0, 0, 0, 0},

	{"LT-5101", "Thickener level", M_LT, THICKENER, 0, 40, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"LCV-5102", "Thickener underflow level control", M_VALVE, THICKENER, 4, 20, 6, G_REST, 0, 0.05, 0.02, 0.4, 1.1, 0},
	{"FT-5103", "Press feed flow", M_FT, PRESS, 0, 16, 6, G_REST, 0, 0, 0, 0, 0, 0},
	{"PT-5104", "Press feed pressure", M_PT_HIGH, PRESS, 0, 16, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"PSH-5105", "Press feed pressure high", M_SWITCH, PRESS, 0, 24, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"TE-5106", "Press hydraulic oil temperature", M_TK, PRESS, 0, 120, 24, G_REST, 0, 0, 0, 0, 0, 0},
	{"PT-5107", "Press hydraulic oil pressure", M_PT_HIGH, PRESS, 0, 25, 12, G_REST, 0, 0, 0, 0, 0, 0},
	{"AIT-5108", "Filtrate turbidity", M_NTU, PRESS, 0, 100, 6, G_REST, 0, 0, 0, 0, 0, 0},
	{"TT-5109", "Press house temperature", M_TT, PRESS, -10, 50, 24, G_REST, 0, 0, 0, 0, 0, 0},
};
const int demo_instruments_count = sizeof demo_instruments / sizeof *demo_instruments;

#define TO_SI "To the SI through the laboratory's own national standards (invented)"

const struct demo_standard demo_standards[] = {
	{"BU-01", "pH buffers 4.00, 7.00 and 10.01", "pH", "Set of three", "Lot 2211", "pH", TO_SI, 4, 10.01, 0.02, 100, NULL},
	{"CL-01", "Comparison photometer for chlorine", "free chlorine", "CP-5", "0417", "mg/L", TO_SI, 0, 6, 0.04, 160, NULL},
	{"FZ-01", "Formazin turbidity standards", "turbidity", "Set of five", "Lot 0906", "NTU", TO_SI, 0, 100, 0.05, 60, NULL},
	{"MA-01", "Current source and meter", "current", "CS-24", "1187", "mA", TO_SI, 0, 24, 0.003, 200, NULL},
	{"MA-02", "Current source and meter", "current", "CS-24", "1188", "mA", TO_SI, 0, 24, 0.003, 500,
	 "Read 0.031 mA high at 20 mA when the laboratory received it; everything tested with it since its last certificate is being looked at."},
	{"MV-01", "Millivolt meter with reference junction", "voltage", "MV-2", "0533", "mV", TO_SI, -10, 100, 0.006, 130, NULL},
	{"OM-01", "Resistance meter, four wires", "resistance", "OM-4", "0290", "ohm", TO_SI, 0, 400, 0.012, 210, NULL},
	{"PH-01", "Pressure module, high range", "pressure", "PM-40", "2051", "bar", TO_SI, 0, 40, 0.004, 90, NULL},
	{"PH-02", "Pressure module, high range, spare", "pressure", "PM-40", "2052", "bar", TO_SI, 0, 40, 0.004, 405, NULL},
	{"PL-01", "Pressure module, low range", "pressure", "PM-100k", "2077", "kPa", TO_SI, 0, 100, 0.01, 120, NULL},
	{"RS-01", "Pt100 simulator", "temperature", "RS-1", "0812", "°C", TO_SI, -200, 850, 0.05, 250, NULL},
	{"TB-01", "Dry block with reference thermometer", "temperature", "DB-155", "0764", "°C", TO_SI, -25, 155, 0.09, 180, NULL},
	{"TS-01", "Travel scale with vernier", "travel", "TS-1", "0031", "%", TO_SI, -5, 105, 0.3, 345, NULL},
};
const int demo_standards_count = sizeof demo_standards / sizeof *demo_standards;
