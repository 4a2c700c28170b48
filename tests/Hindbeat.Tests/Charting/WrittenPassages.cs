using System.Xml.Linq;
using System.Xml.Schema;
using CsCheck;
using Hindbeat.Charting;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Tests.Charting;

/// <summary>Typed-in and random passages for the tests of this folder.</summary>
internal static class WrittenPassages
{
    /// <summary>A chart with a title and nothing else chosen.</summary>
    public static readonly ChartOptions Plain = new() { Title = "Brass mill" };

    public static Chart Written(Performance performance, ChartOptions? options = null) => ChartMaker.Make(performance, null, options ?? Plain);

    /// <summary>The chart's MusicXML, checked against the W3C schema.</summary>
    public static XDocument ValidXml(Chart chart)
    {
        using var stream = new MemoryStream();
        MusicXmlFile.Write(chart, stream);
        stream.Position = 0;
        XDocument xml = XDocument.Load(stream);
        xml.Validate(MusicXmlFileTests.Schema.Value, null);
        return xml;
    }

    /// <summary>A report that says nothing but that a level swings.</summary>
    public static FeelReport Swung(SwingLevel level, double ratio) => new(
        FeelReference.TimekeepingHand, "ride", [new SwingFigure(level, [KitPiece.Ride], new Estimate(ratio, ratio - 0.1, ratio + 0.1), 32, SwingVerdict.Swung, [])],
        [new LayBackFigure(KitPiece.Snare, new Estimate(6.2, 4.0, 8.4), 0.01, 8, true, [])], [], [], new TempoFigure(Bpm.Of(100), new Estimate(0, -1, 1), []), []);

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

    /// <summary>A bar of up to twelve strokes played 2 to 40 times, every stroke up to 30 ms off its place.</summary>
    public static readonly Gen<Performance> FoldablePassages =
        from meter in Gen.Int[0, Meters.Length - 1].Select(i => Meter.Parse(Meters[i]))
        from bpm in Gen.Double[40, 260]
        from bars in Gen.Int[2, 40]
        from strokes in Gen.Select(Gen.Int[0, 60], Gen.Int[0, 3].Select(i => new[] { 2, 3, 4, 6 }[i]), Gen.Int[0, 11], Gen.Int[0, 14]).List[1, 12]
        from shifts in Gen.Double[-0.03, 0.03].Array[97]
        select Repeated(meter, bpm, bars, strokes, shifts);

    private static Performance Repeated(Meter meter, double bpm, int bars, List<(int Beat, int Grid, int Step, int Piece)> strokes, double[] shifts)
    {
        Pulse pulse = Pulse.Steady(meter, Bpm.Of(bpm), AudioTime.FromSeconds(0.5), (bars * meter.BeatsPerBar) + 1);
        var hits = new List<Hit>();
        foreach (var (beat, grid, step, piece) in strokes.DistinctBy(stroke => (stroke.Piece, stroke.Beat % meter.BeatsPerBar, new Fraction(stroke.Step % stroke.Grid, stroke.Grid))))
        {
            for (int bar = 1; bar <= bars; bar++)
            {
                var place = new BarPosition(bar, 1 + (beat % meter.BeatsPerBar), new Fraction(step % grid, grid));
                hits.Add(new Hit(pulse.TimeAt(place) + Seconds.Of(shifts[hits.Count % shifts.Length]), (KitPiece)piece, 80, Level.FromDbfs(-12), 1) { Position = place });
            }
        }

        return new Performance(pulse, hits);
    }

    /// <summary>Passages whose meter changes: bars joined, split and counted in other meters wherever that is possible.</summary>
    public static readonly Gen<Performance> ChangingMeters =
        from performance in OrdinaryGridsIn("4/4", "3/4", "5/4", "6/8", "12/8")
        from edits in Gen.Select(Gen.Int[0, 3], Gen.Int[0, 8], Gen.Int[1, 4], Gen.Int[0, Meters.Length - 1]).List[1, 5]
        select edits.Aggregate(performance, (edited, edit) =>
        {
            (int kind, int bar, int beats, int meter) = edit;
            var history = new EditHistory(new ChartState(edited, new ChartOptions()));
            ChartEdit wanted = kind switch
            {
                0 => new JoinBars(bar, bar + 1),
                1 => new SplitBar(bar, beats),
                _ => new ChangeMeter(Meters[meter]) { FirstBar = bar },
            };
            try
            {
                history.Do(wanted);
            }
            catch (InputException)
            {
                // Not every bar can be split or joined so.
            }

            return history.Current.Performance;
        });
}
