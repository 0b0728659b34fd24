"""Heat, lethality and drying: what the middle of a piece does, and how sure one can be.

Pure computation: values in, values out; no web, no SQL. Temperatures are in °C inside, in °F where a rule is law
in °F; lengths m, times s, h W/m2K. numpy is imported inside functions, so that importing this package costs
nothing; a forward prediction needs no scipy.

Where to start::

    from stillroom.plugins.physics.programme import Piece, Step
    from stillroom.plugins.physics.predict import predict

    chop = Piece(thickness_m=0.038, start_c=3.3)
    plan = predict(chop, (Step("bath", 4500, 58.0), Step("rest", 600, 25.0)))
    plan.steps[0].slow_core_c

| module | what it answers |
|---|---|
| ``programme`` | a piece, the steps it goes through, and the prediction that comes back |
| ``predict`` | core, surface and coldest point through the steps, with a slow and a fast end |
| ``inverse`` | how long, how thick, how hot, when to pull |
| ``cooling`` | pans, bags and vats against the limits of their cooling rule |
| ``kinetics``, ``lethality`` | heat resistance of one organism in one food; log reductions along a curve |
| ``rules``, ``judging`` | times and temperatures that are law, and readings held against them |
| ``readings`` | a probe's log made into a clean series |
| ``cautions`` | the words that go with a programme |
| ``learning`` | the house's own surface coefficient and carryover from its probe log |
| ``properties`` | conductivity, density and heat capacity from composition |
| ``drying`` | weight of an ageing piece, forecast from its weigh-ins |
| ``conduction``, ``product``, ``frozen``, ``capping`` | the engine |

How far it can be trusted: numerically 0.01 °C against independent solvers; for real food 15 to 20 % in time, or 3 to
4 mm of thickness. A prediction is never a reading. Every decision is taken on the slow end.
"""
