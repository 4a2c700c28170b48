using System.Globalization;
using System.Runtime.CompilerServices;
using Hindbeat.Listening;
using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Accuracy;

/// <summary>Are flams, drags, rimshots and half-open hats heard, and for how long a hat rings? Rendered takes with a kit that has such strokes (unpack_articulations.py of training/).</summary>
internal sealed class ArticulationReport(TextWriter? details)
{
    private const double MatchMs = 25;
    private const double GraceMs = 50;

    /// <summary>Of two strokes of a drum within <see cref="GraceMs"/> the first is a grace where it is 3 dB softer: this share of the velocity by the square law.</summary>
    private static readonly double GraceShare = Math.Pow(10, -3 / 40.0);

    private static readonly ConditionalWeakTable<float[], object> KnownRings = [];

    private readonly Dictionary<HitMarks, (int Right, int True, int Heard)> _counts = [];
    private readonly Dictionary<string, (int Right, int All)> _hats = [];
    private readonly List<(double True, double Heard)> _rings = [];
    private int _hatStrokes;

    /// <summary>
    /// The same strokes with marks that the take does not have: in two takes of three four in ten of the loud snares are rimshots, in one of two the hats are half open for a quarter of the time
    /// (all of them, two seconds on end). The same take always gets the same.
    /// </summary>
    public static List<Hit> WithMarks(List<Hit> hits)
    {
        var random = new Random(hits.Count);
        bool rims = random.Next(3) > 0, sloshes = random.Next(2) > 0;
        bool[] slosh = [.. Enumerable.Range(0, 1 + (int)(hits[^1].Time.TotalSeconds / 2)).Select(_ => sloshes && random.Next(4) == 0)];
        return [.. hits.Select(hit => hit with { Marks = HitMarks.None }).Select(hit =>
            hit.Piece == KitPiece.Snare && hit.Velocity >= 80 && rims && random.Next(10) < 4 ? hit with { Marks = HitMarks.Rimshot }
            : hit.Piece is KitPiece.HatClosed or KitPiece.HatOpen && slosh[(int)Math.Max(0, hit.Time.TotalSeconds / 2)] ? hit with { Piece = KitPiece.HatOpen, Marks = HitMarks.HalfOpen }
            : hit)];
    }

    /// <summary>What <see cref="HatRing"/> finds in the stroke by itself, in ms; null where it finds nothing.</summary>
    public static double? RingOfStroke(float[] samples) => (double?)KnownRings.GetValue(samples, stroke =>
    {
        const int Lead = MonoSound.AnalysisRate / 10;
        float[] padded = new float[Lead + stroke.Length + (2 * MonoSound.AnalysisRate)];
        stroke.CopyTo(padded, Lead);
        using MonoSound sound = MonoSound.FromSamples(padded);
        BandPowers powers = BandPowers.Of(sound, 0, padded.Length, null, CancellationToken.None);
        var hit = new Hit(AudioTime.FromSample(Lead, MonoSound.AnalysisRate), KitPiece.HatOpen, 100, Level.FromDbfs(0), 1);
        return HatRing.Measure(powers, [hit], 10000)[0]?.Milliseconds ?? double.NaN;
    }) is double ring && !double.IsNaN(ring) ? ring : null;

    public void Add(Truth truth, IReadOnlyList<Hit> heard)
    {
        HitMarks[] marks = [.. truth.Marks];
        foreach (KitPiece drum in new[] { KitPiece.Snare, KitPiece.TomHigh, KitPiece.TomMid, KitPiece.TomLow })
            MarkGraces(truth, drum, marks);
        foreach (PieceFamily family in Enum.GetValues<PieceFamily>())
        {
            int[] mine = [.. Enumerable.Range(0, marks.Length).Where(i => truth.Hits[i].Piece.Family() == family)];
            Hit[] theirs = [.. heard.Where(hit => hit.Piece.Family() == family)];
            var pairs = Pairing.Nearest([.. mine.Select(i => truth.Hits[i].Time)], [.. theirs.Select(hit => hit.Time.TotalSeconds)], MatchMs).Select(pair => (True: mine[pair.True], Heard: theirs[pair.Heard])).ToList();
            foreach (HitMarks mark in new[] { HitMarks.Flam, HitMarks.Drag, HitMarks.Rimshot, HitMarks.HalfOpen })
            {
                (int right, int all, int said) = _counts.GetValueOrDefault(mark);
                int found = pairs.Count(pair => marks[pair.True].HasFlag(mark) && pair.Heard.Marks.HasFlag(mark));
                _counts[mark] = (right + found, all + mine.Count(i => marks[i].HasFlag(mark)), said + theirs.Count(hit => hit.Marks.HasFlag(mark)));
            }

            foreach ((int i, Hit hit) in pairs.Where(pair => truth.Hits[pair.True].Piece is KitPiece.HatClosed or KitPiece.HatOpen))
            {
                _hatStrokes++;
                string was = Word(truth.Hits[i].Piece, marks[i]), said = Word(hit.Piece, hit.Marks);
                foreach (string key in new[] { was + " > " + said, was + " > " + said + (hit.Ring is null ? " (ring unknown)" : " (ring known)") })
                    _hats[key] = (_hats.GetValueOrDefault(key).Right + 1, 0);
                if (hit.Ring is { } ring && truth.Rings[i] is { } own)
                {
                    _rings.Add((own, ring.Milliseconds));
                    details?.WriteLine(string.Create(CultureInfo.InvariantCulture, $"ring,{truth.Name},{truth.Hits[i].Time:0.000},{was},{said},{own:0},{ring.Milliseconds:0}"));
                }
            }
        }
    }

    public void Print(TextWriter output)
    {
        var table = new Table("mark", "true", "heard", "right", "precision", "recall");
        foreach ((HitMarks mark, (int right, int all, int said)) in _counts)
            table.Add(HitMarkWords.Of(mark).First(), $"{all}", $"{said}", $"{right}", Table.Share((double)right / said), Table.Share((double)right / all));
        output.WriteLine(table);
        output.WriteLine("Hats: " + string.Join("; ", _hats.OrderBy(row => row.Key, StringComparer.Ordinal).Select(row => $"{row.Key} {row.Value.Right}")) + ".");
        double[] off = [.. _rings.Select(ring => Math.Abs(ring.Heard - ring.True)).Order()], share = [.. _rings.Select(ring => Math.Abs(Math.Log(Math.Max(1, ring.Heard) / Math.Max(1, ring.True)))).Order()];
        if (off.Length > 0)
            output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"Ring told of {_rings.Count} of {_hatStrokes} strokes; median error {off[off.Length / 2]:0} ms, by a factor of {Math.Exp(share[share.Length / 2]):0.00}, nine in ten within {Math.Exp(share[(int)(0.9 * share.Length)]):0.00}."));
    }

    private static void MarkGraces(Truth truth, KitPiece drum, HitMarks[] marks)
    {
        int[] mine = [.. Enumerable.Range(0, marks.Length).Where(i => truth.Hits[i].Piece == drum)];
        for (int k = 1; k < mine.Length; k++)
        {
            if (!IsGrace(truth, mine[k - 1], mine[k]))
                continue;
            bool two = k > 1 && truth.Hits[mine[k - 1]].Time - truth.Hits[mine[k - 2]].Time <= GraceMs / 1000 && truth.Hits[mine[k - 2]].Velocity <= GraceShare * truth.Hits[mine[k]].Velocity;
            marks[mine[k]] |= two ? HitMarks.Drag : HitMarks.Flam;
            if (two)
                marks[mine[k - 1]] &= ~HitMarks.Flam;
        }
    }

    private static bool IsGrace(Truth truth, int grace, int main) =>
        truth.Hits[main].Time - truth.Hits[grace].Time is > 0 and <= GraceMs / 1000 && truth.Hits[grace].Velocity <= GraceShare * truth.Hits[main].Velocity;

    private static string Word(KitPiece piece, HitMarks marks) => marks.HasFlag(HitMarks.HalfOpen) ? "half" : piece == KitPiece.HatOpen ? "open" : piece == KitPiece.HatClosed ? "closed" : "pedal";
}
