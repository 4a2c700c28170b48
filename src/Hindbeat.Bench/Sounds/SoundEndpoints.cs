using System.Globalization;
using Hindbeat.Bench.Desk;
using Hindbeat.Sound;
using Hindbeat.Studies;
using Hindbeat.Units;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Routing;

namespace Hindbeat.Bench.Sounds;

/// <summary>The passage's own sound, its outline and its rebuilds, each with its loudness so that the page can play all equally loud.</summary>
internal static class SoundEndpoints
{
    /// <summary>"frames a second:frames a pair" of the outline.</summary>
    private const string OutlineHeader = "Hindbeat-Outline";

    /// <summary>Rows of the spectrogram; spectrum.js draws them two pixels high.</summary>
    private const int SpectrumRows = 64;

    public static void Map(IEndpointRouteBuilder app)
    {
        app.MapGet("/sound/{study}/outline", (string study, StudyDesk desk, StudySounds sounds, HttpResponse response) =>
            desk.Find(study) is { } found && sounds.Original(found) is { } sound ? Outline(sound, response) : Results.NotFound());
        app.MapGet("/sound/{study}/spectrum", (string study, double from, double to, int columns, StudyDesk desk, StudySounds sounds) =>
            desk.Find(study) is { } found && sounds.Original(found) is { } sound ? Spectrum(sound, from - found.From.TotalSeconds, to - found.From.TotalSeconds, columns) : Results.NotFound());
        app.MapGet("/sound/{study}/original", (string study, StudyDesk desk, StudySounds sounds, HttpRequest request) => Answer(desk, study, found =>
            DialAddress.Moment(request.Query, "from") is { } from && DialAddress.Moment(request.Query, "to") is { } to ? sounds.Played(found, from, to) : sounds.Played(found)));
        app.MapGet("/sound/{study}/slow/{percent:int:range(25,99)}", (string study, int percent, StudyDesk desk, StudySounds sounds) =>
            Answer(desk, study, found => sounds.Slowed(found, percent / 100.0)));
        app.MapGet("/sound/{study}/rebuild", (string study, StudyDesk desk, StudySounds sounds, HttpRequest request) => Answer(desk, study, found =>
            sounds.Rebuild(found, DialAddress.Read(request.Query), DialAddress.Moment(request.Query, "from"), DialAddress.Moment(request.Query, "to"))));
        app.MapGet("/sound/{study}/blind/{ticket}/{which:regex(^[ab]$)}", (string study, string ticket, string which, StudyDesk desk, StudySounds sounds, BlindTests tests) =>
            Answer(desk, study, found => tests.DialsOf(study, ticket, which) is { } dials ? sounds.Rebuild(found, dials) : null));
    }

    private static IResult Answer(StudyDesk desk, string id, Func<Study, HeardSound?> make)
    {
        try
        {
            return desk.Find(id) is { } study && make(study) is { } heard ? new PlainSound(heard) : Results.NotFound();
        }
        catch (InputException reason)
        {
            return Results.BadRequest(reason.Message);
        }
    }

    /// <param name="from">Seconds of the passage.</param>
    private static IResult Spectrum(StereoSound sound, double from, double to, int columns)
    {
        if (!(from > -1 && to > from && to - from < sound.Duration.Value + 1) || columns is < 1 or > Spectrogram.MostColumns)
            return Results.BadRequest("That is no stretch of the passage.");
        byte[] picture = Spectrogram.Of(sound, (long)(from * sound.SampleRate), Math.Max(1, (long)((to - from) * sound.SampleRate)), columns, SpectrumRows);
        return Results.Bytes(picture, "application/octet-stream");
    }

    private static IResult Outline(StereoSound sound, HttpResponse response)
    {
        response.Headers[OutlineHeader] = string.Create(CultureInfo.InvariantCulture, $"{sound.SampleRate}:{SoundOutline.Step}");
        response.Headers.CacheControl = "no-store";
        return Results.Bytes(SoundOutline.Of(sound), "application/octet-stream");
    }
}
