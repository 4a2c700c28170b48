using System.Collections.Concurrent;
using Hindbeat.Performances;

namespace Hindbeat.Rebuilding;

/// <summary>
/// The drums a rebuild is played on: recorded strokes of several pieces and loudnesses. Immutable and
/// safe to share between threads.
/// </summary>
public sealed class Kit
{
    /// <summary>
    /// Loudness follows amplitude ∝ velocity^1.15, 23 dB for a tenfold velocity. Least squares over the house kit's
    /// recorded layers spread evenly up to 127 gives 22.9 (see docs/decisions/rebuild-house-kit.md).
    /// </summary>
    internal const double DecibelsPerDecade = 23;

    /// <summary>
    /// Who steps in for a piece the kit lacks, nearest first (common practice, no source).
    /// </summary>
    private static readonly Dictionary<KitPiece, KitPiece[]> Nearest = new()
    {
        [KitPiece.Kick] = [KitPiece.TomLow, KitPiece.TomMid],
        [KitPiece.Snare] = [KitPiece.CrossStick, KitPiece.TomHigh],
        [KitPiece.CrossStick] = [KitPiece.Snare, KitPiece.Other],
        [KitPiece.HatClosed] = [KitPiece.HatPedal, KitPiece.HatOpen, KitPiece.Ride],
        [KitPiece.HatOpen] = [KitPiece.HatClosed, KitPiece.Crash, KitPiece.Ride],
        [KitPiece.HatPedal] = [KitPiece.HatClosed, KitPiece.HatOpen],
        [KitPiece.Ride] = [KitPiece.RideBell, KitPiece.Crash, KitPiece.HatClosed],
        [KitPiece.RideBell] = [KitPiece.Ride, KitPiece.Crash],
        [KitPiece.Crash] = [KitPiece.Splash, KitPiece.China, KitPiece.Ride, KitPiece.HatOpen],
        [KitPiece.Splash] = [KitPiece.Crash, KitPiece.China, KitPiece.HatOpen],
        [KitPiece.China] = [KitPiece.Crash, KitPiece.Splash, KitPiece.HatOpen],
        [KitPiece.TomHigh] = [KitPiece.TomMid, KitPiece.TomLow, KitPiece.Snare],
        [KitPiece.TomMid] = [KitPiece.TomHigh, KitPiece.TomLow, KitPiece.Snare],
        [KitPiece.TomLow] = [KitPiece.TomMid, KitPiece.TomHigh, KitPiece.Kick],
        [KitPiece.Other] = [KitPiece.CrossStick, KitPiece.Snare],
    };

    private readonly Dictionary<KitPiece, KitSample[]> _strokes;
    private readonly IReadOnlyDictionary<KitPiece, LoudnessCurve> _curves;
    private readonly ConcurrentDictionary<int, Kit> _atOtherRates = new();
    private readonly ConcurrentDictionary<(KitSample, bool), KitSample> _furtherTakes = new();

    /// <param name="attribution">The line that the sounds' licence asks for; empty when it asks for none.</param>
    /// <param name="samples">All at <paramref name="sampleRate"/>; several a piece make its layers.</param>
    /// <param name="curves">Pieces whose loudness follows velocity in a way of their own.</param>
    public Kit(string name, string attribution, int sampleRate, IEnumerable<KitSample> samples, IReadOnlyDictionary<KitPiece, LoudnessCurve>? curves = null)
    {
        ArgumentNullException.ThrowIfNull(samples);
        _curves = curves ?? new Dictionary<KitPiece, LoudnessCurve>();
        Name = name;
        Attribution = attribution;
        SampleRate = sampleRate;
        _strokes = samples.GroupBy(sample => sample.Piece)
            .ToDictionary(group => group.Key, group => group.OrderBy(sample => sample.LoudnessDb).ToArray());
        if (_strokes.Count == 0)
            throw new ArgumentException("A kit needs at least one stroke.", nameof(samples));
        if (_strokes.Values.SelectMany(strokes => strokes).Any(sample => sample.SampleRate != sampleRate))
            throw new ArgumentException("All strokes of a kit must have the kit's sample rate.", nameof(samples));
    }

    public string Name { get; }
    public string Attribution { get; }
    public int SampleRate { get; }

    /// <summary>Pieces with strokes of their own.</summary>
    public IReadOnlyCollection<KitPiece> Pieces => _strokes.Keys;

    /// <summary>The strokes a piece is played with, soft to loud; those of its nearest stand-in when it has none.</summary>
    public IReadOnlyList<KitSample> StrokesOf(KitPiece piece) => Find(piece);

    /// <summary>
    /// The loudness (dB, see <see cref="KitSample.LoudnessDb"/>) that a stroke of a velocity in (0, 127]
    /// gets: the loudest layer's at 127, falling smoothly and strictly below.
    /// </summary>
    public double LoudnessDb(KitPiece piece, double velocity)
    {
        KitSample[] strokes = Find(piece);
        LoudnessCurve curve = _curves.TryGetValue(strokes[0].Piece, out LoudnessCurve own) ? own : new LoudnessCurve(strokes[^1].LoudnessDb, DecibelsPerDecade);
        return curve.At(velocity);
    }

    /// <summary>The same kit at another rate, made once and kept. Onsets keep their moments.</summary>
    public Kit AtRate(int sampleRate) => sampleRate == SampleRate
        ? this
        : _atOtherRates.GetOrAdd(sampleRate, rate => new Kit(Name, Attribution, rate, _strokes.Values.SelectMany(strokes => strokes).Select(sample => sample.AtRate(rate)), _curves));

    /// <summary>A further take of a stroke that has no other near enough in loudness, one of two, made once and kept.</summary>
    internal KitSample FurtherTakeOf(KitSample sample, bool isThird) => _furtherTakes.GetOrAdd((sample, isThird), key => key.Item1.FurtherTake(key.Item2));

    /// <summary>The kit with some of its strokes only, as loud as before.</summary>
    internal Kit With(Func<KitSample, bool> keeps) => new(Name, Attribution, SampleRate, _strokes.Values.SelectMany(strokes => strokes).Where(keeps), _curves);

    private KitSample[] Find(KitPiece piece)
    {
        if (_strokes.TryGetValue(piece, out KitSample[]? own))
            return own;
        foreach (KitPiece near in Nearest[piece])
        {
            if (_strokes.TryGetValue(near, out KitSample[]? strokes))
                return strokes;
        }

        return _strokes[_strokes.Keys.Min()];
    }
}
