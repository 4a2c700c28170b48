using CsCheck;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Tests.Charting;

/// <summary>Typed-in and random passages for the tests of this folder.</summary>
internal static class WrittenPassages
{
    /// <summary>Steady passage from rows of (piece id, places in beats from the bar's start); the same in every bar.</summary>
    public static Performance Typed(string meter, double bpm, int bars, params (string Piece, string Places)[] rows) =>
        Typed(meter, bpm, bars, 1, [.. rows.Select(row => (row.Piece, row.Places, HitMarks.None))]);

    public static Performance Typed(string meter, double bpm, int bars, int firstBar, params (string Piece, string Places, HitMarks Marks)[] rows)
    {
        Meter signature = Meter.Parse(meter);
        Pulse pulse = Pulse.Steady(signature, Bpm.Of(bpm), AudioTime.FromSeconds(0.5), (bars * signature.BeatsPerBar) + 1, firstBar);
        var hits = new List<Hit>();
        for (int bar = 0; bar < bars; bar++)
        {
            foreach ((string piece, string places, HitMarks marks) in rows)
            {
                foreach (string place in places.Split(' ', StringSplitOptions.RemoveEmptyEntries))
                {
                    Fraction beats = Fraction.Parse(place);
                    var position = new BarPosition(firstBar + bar, (int)beats.Floor() + 1, beats - new Fraction(beats.Floor()));
                    hits.Add(new Hit(pulse.TimeAt(position), KitPieces.Parse(piece), 80, Level.FromDbfs(-12), 1) { Position = position, Marks = marks });
                }
            }
        }

        return new Performance(pulse, hits);
    }

    public static readonly string[] Meters = ["4/4", "3/4", "2/4", "5/4", "6/4", "2/2", "3/8", "5/8", "6/8", "7/8", "9/8", "12/8", "15/8", "7/16", "1/16", "32/16"];

    private static readonly int[] Grids = [1, 2, 3, 4, 4, 4, 5, 6, 7, 8, 9, 12, 16, 32, 48, 64, 97, 1000];

    /// <summary>
    /// Any passage at all: every meter, places on binary, triplet, quintuplet, septuplet and absurd grids,
    /// doubled strokes, strokes without a place, pickups, silent bars, an uneven pulse.
    /// </summary>
    public static readonly Gen<Performance> Any = Passages(Grids, Meters);

    /// <summary>As <see cref="Any"/>, on the grids that music uses.</summary>
    public static readonly Gen<Performance> OrdinaryGrids = OrdinaryGridsIn(Meters);

    public static Gen<Performance> OrdinaryGridsIn(params string[] meters) => Passages([1, 2, 2, 3, 4, 4, 4, 6, 8], meters);

    private static Gen<Performance> Passages(int[] grids, string[] meters) =>
        from meterName in Gen.Int[0, meters.Length - 1].Select(i => meters[i])
        from bpm in Gen.Double[40, 260]
        from firstBar in Gen.Int[-1, 2]
        from startBeat in Gen.Int[0, 40]
        from drift in Gen.Double[-0.01, 0.01]
        from strokes in Gen.Select(
            Gen.Int[0, 60],
            Gen.Int[0, grids.Length - 1].Select(i => grids[i]),
            Gen.Int[0, 999],
            Gen.Int[0, 14],
            Gen.Double[-0.03, 0.03],
            Gen.Int[0, 127]).List[1, 60]
        select Make(Meter.Parse(meterName), bpm, firstBar, startBeat, drift, strokes);

    private static Performance Make(
        Meter meter, double bpm, int firstBar, int startBeat, double drift, List<(int Beat, int Grid, int Step, int Piece, double Shift, int Marks)> strokes)
    {
        var beats = new List<Beat>();
        double time = 0.7;
        int start = startBeat % meter.BeatsPerBar;
        for (int i = 0; i < 62; i++)
        {
            int from = start + i;
            beats.Add(new Beat(AudioTime.FromSeconds(time), firstBar + (from / meter.BeatsPerBar), 1 + (from % meter.BeatsPerBar)));
            time += 60.0 / bpm * (1 + (drift * Math.Sin(i)));
        }

        var pulse = new Pulse(meter, beats);
        IEnumerable<Hit> hits = strokes.Select((stroke, i) =>
        {
            BarPosition position = pulse.PositionAt(new Fraction(stroke.Beat) + new Fraction(stroke.Step % stroke.Grid, stroke.Grid));
            AudioTime played = pulse.TimeAt(position) + Seconds.Of(stroke.Shift);
            return new Hit(played, (KitPiece)stroke.Piece, 1 + (stroke.Marks % 127), Level.FromDbfs(-12), 1)
            {
                Position = i > 0 && stroke.Marks == 126 ? null : position,
                Marks = (HitMarks)(stroke.Marks & 15),
            };
        });
        return new Performance(pulse, hits);
    }
}
