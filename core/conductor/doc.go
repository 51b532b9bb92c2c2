// Package conductor is the copper between the starter battery and the charger:
// resistance by cross-section or gauge (IEC 60228 class 5, ASTM B258, SAE), the
// current that a cable and its fuse carry in warm air, and a lead of both with its
// joints.
//
// Resistance follows the temperature of the conductor (0.00393 per K at 20 °C);
// ampacity follows the insulation's rating by the square root of the room that the
// air leaves, within 8 % of the tables of 33 CFR 183.425; a fuse carries 0.75 of its
// rating, less 0.2 % per K. Lengths in m one way, areas in mm², temperatures in °C.
// Sources stand at the functions; checks in testdata/iec60228_class5.csv,
// astm_b258.csv, ampacity_33cfr183.csv, fuses.csv and checks.csv.
package conductor
