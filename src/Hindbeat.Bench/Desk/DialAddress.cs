using System.Globalization;
using Hindbeat.Rebuilding;
using Hindbeat.Units;
using Microsoft.AspNetCore.Http;

namespace Hindbeat.Bench.Desk;

/// <summary>Dials as an address carries them: swing=0.5&amp;layback=1…, each 0 to 2; what is not said is as played.</summary>
internal static class DialAddress
{
    /// <exception cref="InputException">A dial is no number; what is out of range the engine says.</exception>
    public static Dials Read(IQueryCollection query) => new()
    {
        Swing = Share(query, "swing"),
        LayBack = Share(query, "layback"),
        Habits = Share(query, "habits"),
        Looseness = Share(query, "looseness"),
        Touch = Share(query, "touch"),
        Tempo = Share(query, "tempo"),
    };

    /// <exception cref="InputException">No moment.</exception>
    public static AudioTime? Moment(IQueryCollection query, string name)
    {
        if (!query.TryGetValue(name, out var text))
            return null;
        return double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double seconds) && seconds is >= 0 and < 1e6
            ? AudioTime.FromSeconds(seconds)
            : throw new InputException($"'{name}' is no moment.");
    }

    private static double Share(IQueryCollection query, string name)
    {
        if (!query.TryGetValue(name, out var text))
            return 1;
        return double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double share) ? share : throw new InputException($"The {name} dial is no number.");
    }
}
