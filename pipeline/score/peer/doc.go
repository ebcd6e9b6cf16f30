// Package peer is an outside measure to stand beside: the generic tests of the open
// standard for real-time quality control of ocean data, which many soil networks
// borrow (IOOS QARTOD, in-situ temperature and salinity manual v2.0, 2016; test
// definitions from memory). Gross range, spike, rate of change and flat line look at
// one series with one setting for all series of a unit; they know no water, no
// neighbours and no past beyond a day.
//
// The settings are chosen in the tests' favour as an operator with no time to tune
// each probe would choose them: spans that a sound sensor keeps, spikes well above
// scatter, and flat lines of half a day and a day instead of the manual's example of
// three and five readings, which any export in whole kPa fails every hour.
//
// The tests flag readings. So that they can be scored by the same rules, flagged
// readings of one test less than a day apart make one finding, failed readings are
// left out, and the worst test's name is the probe's main fault; a name stands for
// every fault that it could have meant.
package peer
