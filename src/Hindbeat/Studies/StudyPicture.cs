using System.Globalization;
using System.Text;
using Hindbeat.Performances;

namespace Hindbeat.Studies;

/// <summary>One place of the mean bar where a piece is struck.</summary>
/// <param name="Place">Where it falls on average as a share of the bar, 0 to 1; slightly outside when early on 1.</param>
/// <param name="Share">In how many of the bars it is struck, 0 to 1.</param>
public readonly record struct PictureStroke(KitPiece Piece, double Place, double Share);

/// <summary>A study as a handful of dots: where in the bar each piece falls on average. Kept in the library's list.</summary>
internal static class StudyPicture
{
    /// <summary>A place struck in fewer of the bars is a fill or a slip, and would only fill the picture.</summary>
    private const double LeastShare = 0.15;

    public static IReadOnlyList<PictureStroke> Of(Performance performance)
    {
        Pulse pulse = performance.Pulse;
        var placed = performance.PlacedHits().ToList();
        int bars = placed.Select(entry => entry.Position.Bar).Distinct().Count();
        if (bars == 0)
            return [];
        return
        [
            .. placed
                .GroupBy(entry => (entry.Hit.Piece, entry.Position.Beat, entry.Position.Within))
                .Select(place => new PictureStroke(
                    place.Key.Piece,
                    (place.Key.Beat - 1 + place.Key.Within.ToDouble() + place.Average(entry => entry.Deviation / pulse.BeatLengthAt(entry.Hit.Time))) / pulse.Meter.BeatsPerBar,
                    (double)place.Select(entry => entry.Position.Bar).Distinct().Count() / bars))
                .Where(stroke => stroke.Share >= LeastShare)
                .OrderBy(stroke => stroke.Piece).ThenBy(stroke => stroke.Place),
        ];
    }

    public static string Write(IReadOnlyList<PictureStroke> picture)
    {
        var text = new StringBuilder();
        foreach (PictureStroke stroke in picture)
            text.Append(CultureInfo.InvariantCulture, $"{(text.Length == 0 ? "" : ";")}{stroke.Piece.Id()} {stroke.Place:0.####} {stroke.Share:0.##}");
        return text.ToString();
    }

    /// <summary>What cannot be read is left out: a picture is no reason to lose a list.</summary>
    public static IReadOnlyList<PictureStroke> Read(string text)
    {
        var picture = new List<PictureStroke>();
        foreach (string stroke in text.Split(';', StringSplitOptions.RemoveEmptyEntries))
        {
            string[] parts = stroke.Split(' ');
            if (parts.Length == 3 && KitPieces.TryParse(parts[0], out KitPiece piece)
                && double.TryParse(parts[1], NumberStyles.Float, CultureInfo.InvariantCulture, out double place)
                && double.TryParse(parts[2], NumberStyles.Float, CultureInfo.InvariantCulture, out double share))
                picture.Add(new PictureStroke(piece, place, share));
        }

        return picture;
    }
}
