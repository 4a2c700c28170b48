using Hindbeat.Units;

namespace Hindbeat.Pulses;

/// <summary>
/// How a passage's strokes lie about their places: each voice's displacement at each place of the beat (lay-back, and what a hand always does
/// there), and how far single strokes scatter about that. Places are counted in 24ths of a beat, which all divisions share.
/// </summary>
internal sealed class StrokeHabits
{
    public const int Places = 24;

    /// <summary>A habit is at most this, seconds: beyond lies another place.</summary>
    private const double Most = 0.03;

    /// <summary>A voice's or a place's own habit counts half with so many strokes.</summary>
    private const double HalfBelieved = 4;

    /// <summary>Scatter before anything is known, its least and its most, seconds.</summary>
    private const double UsualScatter = 0.013;

    private const double LeastScatter = 0.010;

    private const double MostScatter = 0.030;

    private readonly double[] _displacement = new double[StrokeTrain.Voices * Places];

    private readonly double[] _late = new double[StrokeTrain.Voices];

    private static readonly StrokeBell UsualBell = new(UsualScatter);

    /// <summary>How strokes scatter about their habits.</summary>
    public StrokeBell Bell { get; private init; } = UsualBell;

    /// <summary>Nothing known but how late the whole kit is, seconds.</summary>
    public static StrokeHabits Whole(double late)
    {
        StrokeHabits habits = new();
        Array.Fill(habits._displacement, late);
        Array.Fill(habits._late, late);
        return habits;
    }

    /// <summary>How late a voice is at a place, seconds.</summary>
    /// <param name="place">Within the beat, in 24ths.</param>
    public double At(Voice voice, int place) => _displacement[((int)voice * Places) + (place % Places)];

    /// <summary>How late a voice is wherever it strikes, seconds.</summary>
    public double Late(Voice voice) => _late[(int)voice];

    /// <param name="deviations">Each stroke's distance from where its place sounds, seconds; NaN for strokes that take no part.</param>
    /// <param name="whole">How late the whole kit is taken to be, seconds.</param>
    public static StrokeHabits Of(StrokeTrain strokes, Fraction[] places, double[] deviations, double whole)
    {
        List<double>[] byPlace = [.. Enumerable.Range(0, StrokeTrain.Voices * Places).Select(_ => new List<double>())];
        for (int i = 0; i < strokes.Count; i++)
        {
            if (!double.IsNaN(deviations[i]))
                byPlace[((int)strokes.VoiceOf[i] * Places) + PlaceOf(places[i])].Add(deviations[i]);
        }

        StrokeHabits habits = Whole(whole);
        for (int voice = 0; voice < StrokeTrain.Voices; voice++)
        {
            double late = whole + Believed([.. Enumerable.Range(0, Places).SelectMany(place => byPlace[(voice * Places) + place])], whole);
            habits._late[voice] = late;
            for (int place = 0; place < Places; place++)
                habits._displacement[(voice * Places) + place] = late + Believed(byPlace[(voice * Places) + place], late);
        }

        double[] distances = [.. Enumerable.Range(0, strokes.Count).Where(i => !double.IsNaN(deviations[i]))
            .Select(i => Math.Abs(deviations[i] - habits.At(strokes.VoiceOf[i], PlaceOf(places[i])))).Order()];
        double scatter = distances.Length == 0 ? UsualScatter : 1.4826 * distances[distances.Length / 2];
        return new StrokeHabits(habits._displacement, habits._late) { Bell = new StrokeBell(Math.Clamp(scatter, LeastScatter, MostScatter)) };
    }

    /// <summary>A place within its beat, in 24ths.</summary>
    public static int PlaceOf(Fraction place)
    {
        Fraction within = place - new Fraction(place.Floor());
        return (int)(within.Numerator * Places / within.Denominator);
    }

    private StrokeHabits()
    {
    }

    private StrokeHabits(double[] displacement, double[] late) => (_displacement, _late) = (displacement, late);

    /// <summary>Median distance from a displacement already known, believed with the strokes there are.</summary>
    private static double Believed(List<double> deviations, double known)
    {
        if (deviations.Count == 0)
            return 0;
        deviations.Sort();
        return Math.Clamp(deviations[deviations.Count / 2] - known, -Most, Most) * deviations.Count / (deviations.Count + HalfBelieved);
    }
}
