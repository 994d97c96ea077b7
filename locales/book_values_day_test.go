package locales_test

import "maps"

// dayUsual fill places that only sentences of the fitting day have, lengths in mm.
var dayUsual = map[string]string{
	"cement": "2.6", "lime": "2.4", "wet": "9.9", "mix": "1 cement to 4 sand", "batches": "2 buckets, each", "batch": "cement 2.6 l, sand 10.6 l, water about 1.9 l",
	"wait": "1 day", "patch": "1", "dangers": "old glass (gloves, eyes, cut-proof sleeves)", "team": "2", "bars": "mullion at 600 mm from the left", "beds": "5 at 30, 5 at 1162",
	"stack": "5", "hole": "74", "reach": "120", "blocks": "sill 3 mm at 150", "sides": "left, right, head, sill", "heel_toe": "1105", "corner": "top free corner",
	"pieces": "1203", "rest": "3797",
	"work": "inside board", "back": "100", "clear": "3", "near": "12", "far": "18", "wide": "120", "longest": "20000",
	"pilot": "6", "screw": "7.5", "masonry": "solid brick", "beyond": "10", "best": "20", "litres": "1.45", "cans": "1", "can": "45", "yield": "60",
	"water": "40", "each": "40", "mass": "24", "factor": "1.3", "carry": "31.2", "rated": "40", "bags": "2", "bag": "12.5", "bucket": "10",
	"coats": "4", "fill": "30", "days": "1", "all": "2", "under": "12", "thick": "10", "base": "4", "cut": "1186", "opening": "1203", "cap": "3",
	"kerf": "3", "overhang": "50", "mark": "593", "frame": "596", "along": "55", "deep": "80", "ends": "100", "degrees": "5", "steepest": "30",
	"across": "6", "up": "6", "less": "6", "rebate_width": "962", "rebate_height": "810", "drop": "0.4", "longer": "2", "was": "4", "edge": "head",
	"extension": "15", "leaves": "8", "lap": "10", "cover": "42", "piece": "1250",
}

// dayValues are those of one sentence of the fitting day, as KEY PLACE.
var dayValues = map[string]string{
	"why.trim_long piece": "6200", "why.trim_piece piece": "0", "why.patch coats": "2", "why.hinge_rating factor": "1.3",
	"why.cut_back most": "12", "why.cut_back_out least": "30", "why.cut_back_out wide": "38", "why.cut_back_out most": "12", "why.cut_back_readings near": "-5",
	"why.cut_stock pieces": "600", "why.cut_stock most": "500", "why.drill_settings pilot": "8",
	"why.foam_can most": "35", "why.foam_can_hot temperature": "40", "why.foam_can_hot most": "35", "why.foam_narrow gap": "3", "why.foam_wide gap": "22", "why.foam_wide most": "15",
	"why.foam_settings yield": "0", "why.foam_settings over": "25", "why.hinge_masses mass": "0", "why.hinge_over rated": "30", "why.hinge_enough rated": "40",
	"why.patch_fill depth": "75", "why.patch_fill fill": "53", "why.patch_finish thickness": "7", "why.patch_finish least": "6", "why.patch_finish most": "8",
	"why.patch_hot temperature": "33", "why.patch_hot most": "30", "why.patch_lime sand": "3", "why.patch_lime most": "10", "why.patch_one thickness": "9",
	"why.patch_settings bucket": "0", "why.patch_settings sand": "3", "why.patch_settings least": "10", "why.patch_settings most": "15",
	"why.patch_size length": "1200", "why.patch_size width": "150", "why.patch_size depth": "0", "why.patch_thin depth": "2", "why.patch_thin least": "3", "why.patch_weaker finish": "5",
	"why.sill_piece_between gap": "5", "why.sill_piece_fall fall": "13.1", "why.sill_piece_fall depth": "150", "why.sill_piece_frame over": "1192", "why.sill_piece_frame stock": "1189",
	"why.sill_piece_between stock": "1189", "why.sill_piece_overhang stock": "1189", "why.sill_piece_inside depth": "85", "why.sill_piece_long over": "1192", "why.sill_piece_long opening": "1180",
	"why.sill_piece_seal back": "1186", "why.sill_piece_settings gap": "-5", "why.sill_piece_short over": "5", "why.sill_piece_short opening": "5",
	"why.stack_loose across": "14", "why.stack_loose limit": "10", "why.stack_tight across": "3", "why.stack_tight limit": "4", "why.stack_no_room across": "1", "why.stack_no_room least": "2",
	"why.toe_even by": "2", "why.toe_even most": "2", "why.toe_made_longer most": "2", "why.toe_no_hold now": "4", "why.toe_pack pack": "2", "why.toe_take pack": "1",
	"why.toe_reading by": "200", "why.toe_reading width": "594", "why.toe_worse now": "6", "why.trim_extension leaves": "8", "why.trim_needed gap": "28", "why.trim_needed most": "10",
	"why.trim_no_extension gap": "28", "why.trim_none gap": "8", "why.trim_none most": "10", "why.trim_width width": "40", "why.trim_width length": "1203", "why.trim_width gap": "28",
}

func init() {
	maps.Copy(ownValues, dayValues)
	for place, value := range dayUsual {
		if _, known := usualValues[place]; !known {
			usualValues[place] = value
		}
	}
}
