using Hindbeat.Listening;
using Hindbeat.Performances;
using Hindbeat.Sound;

namespace Hindbeat.Tests.Listening;

/// <summary>Strokes of known loudness struck together (tests/data/strokes): velocities rank them, also where one hides another.</summary>
public class StrokeStrengthsTests
{
    private const int Rate = MonoSound.AnalysisRate;

    /// <summary>Hats on every eighth, kicks and snares under half of them, each piece over 16 dB.</summary>
    private static (Take Take, List<(long Sample, KitPiece Piece, double Db)> Truth) Passage(int seed)
    {
        Random random = new(seed);
        Take take = new();
        List<(long, KitPiece, double)> truth = [];
        for (int eighth = 0; eighth < 96; eighth++)
        {
            double time = 0.5 + (0.25 * eighth);
            Strike("hat-closed", KitPiece.HatClosed, -6);
            if (random.NextDouble() < 0.5)
                Strike("kick", KitPiece.Kick, 0);
            if (random.NextDouble() < 0.5)
                Strike("snare", KitPiece.Snare, 0);

            void Strike(string stroke, KitPiece piece, double loudest)
            {
                double db = loudest - (16 * random.NextDouble());
                take.With(time, stroke, (float)Math.Pow(10, db / 20));
                truth.Add(((long)Math.Round(time * Rate), piece, db));
            }
        }

        return (take, truth);
    }

    /// <summary>Rank by velocity of a piece's strokes that have louder company: kicks and snares each other, hats the snare.</summary>
    private static double InCompany(KitPiece piece, int seed)
    {
        (Take take, List<(long Sample, KitPiece Piece, double Db)> truth) = Passage(seed);
        using MonoSound sound = MonoSound.FromSamples(take.Samples(26));
        Hit[] hits = [.. LearnedListener.OrSignal().Listen(sound).Hits.Where(hit => hit.Piece == piece)];
        var mine = truth.Where(stroke => stroke.Piece == piece).ToArray();
        List<(double True, double Heard)> pairs = [];
        for (int i = 0; i < mine.Length; i++)
        {
            bool company = truth.Any(other => other.Sample == mine[i].Sample && other.Piece != piece && other.Piece == (piece == KitPiece.Snare ? KitPiece.Kick : KitPiece.Snare));
            if (company && hits.FirstOrDefault(hit => Math.Abs((hit.Time.TotalSeconds * Rate) - mine[i].Sample) < 0.010 * Rate) is { } hit)
                pairs.Add((mine[i].Db, hit.Velocity));
        }

        Assert.True(pairs.Count >= 8, $"{pairs.Count} strokes of the {piece.Id()} in company");
        return Rank([.. pairs]);
    }

    /// <summary>Spearman's correlation; ties share the mean of their ranks.</summary>
    private static double Rank((double A, double B)[] pairs)
    {
        double[] a = Ranks([.. pairs.Select(pair => pair.A)]);
        double[] b = Ranks([.. pairs.Select(pair => pair.B)]);
        double mean = (pairs.Length - 1) / 2.0;
        return a.Zip(b, (x, y) => (x - mean) * (y - mean)).Sum() / Math.Sqrt(a.Sum(x => (x - mean) * (x - mean)) * b.Sum(y => (y - mean) * (y - mean)));

        static double[] Ranks(double[] values) =>
            [.. values.Select(value => values.Count(other => other < value) + ((values.Count(other => other.Equals(value)) - 1) / 2.0))];
    }

    [Theory]
    [InlineData("kick", 0.95)]
    [InlineData("snare", 0.95)]
    [InlineData("hat-closed", 0.85)]
    public void Strokes_in_company_are_ranked_by_their_own_loudness(string piece, double least)
    {
        double[] ranks = [.. Enumerable.Range(1, 12).Select(seed => InCompany(KitPieces.Parse(piece), seed))];
        Assert.True(ranks.Average() >= least, $"{piece}: {string.Join("; ", ranks)}");
    }

    [Fact]
    public void A_piece_played_softly_throughout_has_lower_velocities_than_one_played_hard()
    {
        double Median(float gain)
        {
            Take take = new();
            for (int eighth = 0; eighth < 32; eighth++)
            {
                take.With(0.5 + (0.3 * eighth), "hat-closed", 0.8f);
                if (eighth % 4 == 0)
                    take.With(0.5 + (0.3 * eighth), "kick");
                if (eighth % 4 == 2)
                    take.With(0.5 + (0.3 * eighth), gain < 1 ? "snare-soft" : "snare", gain);
            }

            using MonoSound sound = MonoSound.FromSamples(take.Samples(11));
            int[] velocities = [.. LearnedListener.OrSignal().Listen(sound).Hits.Where(hit => hit.Piece == KitPiece.Snare).Select(hit => hit.Velocity).Order()];
            return velocities[velocities.Length / 2];
        }

        Assert.InRange(Median(0.6f), 1, 0.85 * Median(1));
    }

    [Fact]
    public void Backbeats_struck_alike_have_few_velocities_and_softer_ones_lower()
    {
        Random random = new(1);
        Take take = new();
        List<(double Time, bool Soft)> snares = [];
        for (int eighth = 0; eighth < 96; eighth++)
        {
            double time = 0.5 + (0.25 * eighth);
            take.With(time, "hat-closed", (float)Math.Pow(10, (-6 - (12 * random.NextDouble())) / 20));
            if (random.NextDouble() < 0.4)
                take.With(time, "kick", (float)Math.Pow(10, -12 * random.NextDouble() / 20));
            if (eighth % 2 == 0)
                continue;
            bool soft = eighth % 12 == 11;
            take.With(time, "snare", soft ? 0.35f : 0.8f);
            snares.Add((time, soft));
        }

        using MonoSound sound = MonoSound.FromSamples(take.Samples(26));
        Hit[] hits = [.. LearnedListener.OrSignal().Listen(sound).Hits.Where(hit => hit.Piece == KitPiece.Snare)];
        (bool Soft, int Velocity)[] heard = [.. hits.Select(hit => (snares.MinBy(snare => Math.Abs(snare.Time - hit.Time.TotalSeconds)).Soft, hit.Velocity))];
        int[] alike = [.. heard.Where(hit => !hit.Soft).Select(hit => hit.Velocity)];
        Assert.True(alike.Length >= 36, $"{alike.Length} heard");
        int mostAtOne = alike.GroupBy(velocity => velocity).Max(same => same.Count());
        Assert.True(mostAtOne >= 0.99 * alike.Length, $"velocities {string.Join(' ', alike.Order())}");
        Assert.True(heard.Where(hit => hit.Soft).Max(hit => hit.Velocity) < alike.Min());
    }
}
