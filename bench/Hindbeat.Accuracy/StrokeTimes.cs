using System.Globalization;
using Hindbeat.Listening;
using Hindbeat.Performances;
using Hindbeat.Sound;

namespace Hindbeat.Accuracy;

/// <summary>
/// Where do the tails of the times come from? A row for every true stroke of rendered takes: by how much the network, the waveform alone and the whole listener miss it, and
/// what sounds near it. Comma-separated, milliseconds; empty = not heard, or nothing of that family within 60 ms.
/// </summary>
internal sealed class StrokeTimes(TextWriter output)
{
    private const double NearMs = 60;
    private const double WindowMs = 25;
    private static readonly StrokeTiming[] Timings = [StrokeTiming.Network, StrokeTiming.Waveform, StrokeTiming.OwnShapes];
    private readonly LearnedListener[] _listeners = [.. Timings.Select(timing => LearnedListener.Only(timing))];

    public void Head() => output.WriteLine("take,seconds,piece,velocity,faint,heard,confidence," + string.Join(',', Timings) + ",before,after,kick,snare,hat,cymbal,tom");

    public void Add(Truth truth)
    {
        using LoadedSound sound = SoundLoader.Load(truth.Sound);
        IReadOnlyList<Hit>[] heard = [.. _listeners.Select(listener => listener.Listen(sound.Analysis).Hits)];
        foreach (PieceFamily family in Enum.GetValues<PieceFamily>())
        {
            int[] mine = [.. Enumerable.Range(0, truth.Hits.Count).Where(i => truth.Hits[i].Piece.Family() == family)];
            double[] times = [.. mine.Select(i => truth.Hits[i].Time)];
            Dictionary<int, Hit>[] found = [.. heard.Select(hits => Pairs(times, [.. hits.Where(hit => hit.Piece.Family() == family)]))];
            for (int k = 0; k < mine.Length; k++)
                Row(truth, mine[k], [.. found.Select(pairs => pairs.GetValueOrDefault(k))]);
        }
    }

    private static Dictionary<int, Hit> Pairs(double[] times, Hit[] hits) =>
        Pairing.Nearest(times, [.. hits.Select(hit => hit.Time.TotalSeconds)], WindowMs).ToDictionary(pair => pair.True, pair => hits[pair.Heard]);

    private void Row(Truth truth, int index, Hit?[] heard)
    {
        (double time, KitPiece piece, int velocity) = truth.Hits[index];
        string?[] errors = [.. heard.Select(hit => hit is null ? null : Ms(hit.Time.TotalSeconds - time))];
        string?[] near = [.. Enum.GetValues<PieceFamily>().Select(family => Nearest(truth, index, hit => hit.Piece.Family() == family))];
        string? before = Nearest(truth, index, hit => hit.Piece.Family() == piece.Family() && hit.Time < time);
        string? after = Nearest(truth, index, hit => hit.Piece.Family() == piece.Family() && hit.Time >= time);
        Hit? last = heard[^1];
        output.WriteLine(string.Create(CultureInfo.InvariantCulture,
            $"{truth.Name},{time:0.0000},{piece.Id()},{velocity},{(truth.Faint.Contains(index) ? 1 : 0)},{last?.Piece.Id()},{last?.Confidence:0.00},{string.Join(',', errors)},{before},{after},{string.Join(',', near)}"));
    }

    private static string? Nearest(Truth truth, int index, Func<(double Time, KitPiece Piece, int Velocity), bool> counts)
    {
        double time = truth.Hits[index].Time;
        double[] apart = [.. Enumerable.Range(0, truth.Hits.Count).Where(i => i != index && counts(truth.Hits[i])).Select(i => truth.Hits[i].Time - time).Where(d => Math.Abs(d) < NearMs / 1000)];
        return apart.Length == 0 ? null : Ms(apart.MinBy(Math.Abs));
    }

    private static string Ms(double seconds) => (1000 * seconds).ToString("0.00", CultureInfo.InvariantCulture);
}
