using System.Globalization;
using Hindbeat.Performances;
using Hindbeat.Tests.Feel;

namespace Hindbeat.Accuracy;

/// <summary>
/// How high could velocities rank a piece's strokes? As they were heard; without strokes that another piece stands in for; without takes that repeat one velocity; and if the rendered peaks were
/// known exactly or but for a small error.
/// </summary>
/// <remarks>Every column is Spearman's correlation within a recording, mean over recordings with ten strokes of the piece or more.</remarks>
internal sealed class RankCeiling
{
    private const int Enough = 10;

    /// <summary>Takes in which so great a share of a piece's strokes has one velocity hardly have an order.</summary>
    private const double Repeated = 0.5;

    private const double SmallErrorDb = 0.1;
    private const double ErrorDb = 0.5;

    private readonly List<Stroke> _strokes = [];

    private sealed record Stroke(int Recording, KitPiece Piece, double Velocity, double Heard, double LevelDb, bool StandsIn);

    /// <param name="levelDb">Peak of the stroke as rendered.</param>
    public void Add(int recording, KitPiece piece, int velocity, int heard, double levelDb, bool standsIn) => _strokes.Add(new Stroke(recording, piece, velocity, heard, levelDb, standsIn));

    public void Print(TextWriter output)
    {
        if (_strokes.Count == 0)
            return;
        var table = new Table("piece", "velocity rank", "without stand-ins", "nor repeated velocities", "peaks known exactly", "to 0.1 dB", "to 0.5 dB", "stand-ins");
        foreach (var piece in _strokes.GroupBy(stroke => stroke.Piece).OrderBy(group => group.Key))
        {
            Stroke[] all = [.. piece];
            Stroke[] own = [.. all.Where(stroke => !stroke.StandsIn)];
            Stroke[] ordered = [.. own.GroupBy(stroke => stroke.Recording).Where(take => take.GroupBy(stroke => stroke.Velocity).Max(same => same.Count()) < Repeated * take.Count()).SelectMany(take => take)];
            double rank = Rank(all, stroke => stroke.Heard);
            if (double.IsNaN(rank))
                continue;
            table.Add(
                piece.Key.Id(),
                Table.Share(rank),
                Table.Share(Rank(own, stroke => stroke.Heard)),
                Table.Share(Rank(ordered, stroke => stroke.Heard)),
                Table.Share(Rank(all, stroke => stroke.LevelDb)),
                Table.Share(Rank(all, Off(SmallErrorDb))),
                Table.Share(Rank(all, Off(ErrorDb))),
                Table.Share((all.Length - own.Length) / (double)all.Length));
        }

        output.WriteLine(table);
        output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"Stand-ins: strokes of a piece that the kit lacks, played softer by another. Repeated velocities: takes in which {Repeated * 100:0} % of a piece's strokes or more have one. Peaks as rendered, known exactly or off by a normal error.\n"));
    }

    private static Func<Stroke, double> Off(double db)
    {
        var random = new Random(1);
        return stroke => stroke.LevelDb + (db * InventedFeel.Normal(random));
    }

    private static double Rank(Stroke[] strokes, Func<Stroke, double> heard)
    {
        double[] ranks = [.. strokes.GroupBy(stroke => stroke.Recording).Where(take => take.Count() >= Enough)
            .Select(take => Ranks.Correlation([.. take.Select(stroke => (stroke.Velocity, heard(stroke)))])).Where(rank => !double.IsNaN(rank))];
        return ranks.Length == 0 ? double.NaN : ranks.Average();
    }
}
