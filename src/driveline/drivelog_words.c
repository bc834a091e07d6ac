/*
 * Headers as loggers write them, in English, German, French, Spanish and Italian, to channels.
 *
 * A header is cut into words ("engineSpeed_RPM" -> engine speed rpm), accents and letter case are dropped, and what stands in brackets or at the
 * end is tried as a unit. A phrase fits where all its words are there; each further word that is not a filler costs, and some words say
 * that it is something else ("speed limit", "oil pressure").
 */
#include <string.h>

#include "crosshatch/text.h"
#include "drivelog_parts.h"

/* Phrases, separated by commas; words in the order of the alphabet of none: any order fits. */
static const char *const phrases[LOG_CHANNELS] = {
    [CH_DRIVELOG_TIME] =
        "time,elapsed time,elapsed,run time,session time,log time,timestamp,time "
        "stamp,seconds,sec,clock,epoch,millis,utc,"
        "date time,datetime,utc time,t,zeit,laufzeit,zeitstempel,uhrzeit,messzeit,temps,horodatage,heure,tiempo,hora,"
        "marca tiempo,tempo,ora,orario",
    [CH_DRIVELOG_ENGINE] =
        "rpm,engine rpm,engine speed,engine revs,revs,motor rpm,engine rev,rev,n,n engine,nmot,crank "
        "speed,motordrehzahl,"
        "drehzahl,drehzahl motor,regime,regime moteur,vitesse moteur,revoluciones,revoluciones motor,rpm motor,"
        "regimen motor,velocidad motor,giri,giri motore,regime motore",
    [CH_DRIVELOG_ROAD] = "speed,vehicle speed,road speed,car "
                         "speed,vss,velocity,geschwindigkeit,fahrgeschwindigkeit,fahrzeuggeschwindigkeit,"
                         "tempo fahrzeug,vfzg,v fzg,vitesse,vitesse vehicule,velocidad,velocidad vehiculo,velocidad "
                         "coche,velocita,velocita veicolo,v",
    [CH_DRIVELOG_THROTTLE] =
        "throttle,throttle position,throttle pos,tps,throttle angle,pedal,accelerator,accelerator pedal,pedal position,"
        "accelerator pedal position,wped,wdk,drosselklappe,drosselklappenstellung,gaspedal,gas,pedalwert,papillon,"
        "papillon gaz,accelerateur,mariposa,acelerador,farfalla,acceleratore",
    [CH_DRIVELOG_ACCELERATION] =
        "acceleration,longitudinal acceleration,long acceleration,accel,accel x,acc x,acceleration x,long accel,"
        "long acc,longacc,longitudinal acc,longitudinal accel,long g,g long,longitudinal g,g longitudinal,g x,"
        "gforce x,g force x,ax,langsbeschleunigung,laengsbeschleunigung,beschleunigung langs,beschleunigung,"
        "acceleration longitudinale,aceleracion,aceleracion longitudinal,accelerazione,accelerazione longitudinale",
    [CH_DRIVELOG_COOLANT] =
        "coolant,coolant temp,coolant temperature,engine coolant temperature,water,water temp,water "
        "temperature,ect,clt,"
        "engine temp,engine temperature,kuhlmittel,kuhlmitteltemperatur,kuehlmitteltemperatur,wassertemperatur,"
        "kuhlwassertemperatur,kuehlwassertemperatur,kuhlwasser,temperature eau,temp eau,temperature liquide "
        "refroidissement,"
        "temp liquide refroidissement,temperatura agua,temp agua,temperatura refrigerante,temp refrigerante,"
        "temperatura acqua,temp acqua,temperatura liquido",
    [CH_DRIVELOG_OIL] = "oil temp,oil temperature,oil,eot,engine oil temperature,oltemperatur,oeltemperatur,ol "
                        "temp,oel temp,temperature huile,"
                        "temp huile,temperatura aceite,temp aceite,temperatura olio,temp olio",
    [CH_DRIVELOG_CLUTCH] =
        "clutch,clutch switch,clutch pedal,clutch pressed,clutch position,kupplung,kupplungsschalter,kupplungspedal,"
        "embrayage,embrague,frizione",
    [CH_DRIVELOG_GPS] =
        "gps speed,gps velocity,ground speed,groundspeed,speed over ground,sog,satellite speed,gps geschwindigkeit,"
        "gpsgeschwindigkeit,vitesse gps,velocidad gps,velocita gps",
    [CH_DRIVELOG_DRIVEN] =
        "driven wheel speed,driven speed,drive wheel speed,driven wheels,driven wheel,antriebsrad,antriebsrader,"
        "geschwindigkeit antriebsrad,vitesse roues motrices,velocidad ruedas motrices,velocita ruote motrici",
};

/* Words that say nothing. */
static const char fillers[] =
    "ecu,obd,obdii,obd2,can,signal,value,val,sensor,actual,current,act,ist,measured,the,of,de,du,der,des,del,della,di,"
    "la,le,el,il,vehicle,car,log,abs,absolute,sae,channel,raw,1,0,logged,aktuell,s,in,l";
/* One wheel is not the car. */
static const char wheel_places[] = "front,rear,left,right,fl,fr,rl,rr";

/* Words that say it is something else, for any channel, and for each. */
static const char foreign_all[] =
    "target,limit,limiter,avg,average,mean,desired,requested,request,setpoint,commanded,error,delta,diff,max,"
    "maximum,minimum,pressure,druck,pression,presion,pressione,lateral,lat,vertical,vert,yaw,soll,count,quality,"
    "accuracy,warning,status,flag,id,number,level";
static const char *const foreign[LOG_CHANNELS] = {
    [CH_DRIVELOG_TIME] =
        "lap,sector,split,injection,injector,dwell,best,gap,fuel,ignition,valve,temperature,interval,since,remaining",
    [CH_DRIVELOG_ENGINE] =
        "idle,input,output,turbine,gearbox,trans,transmission,fan,pump,shaft,turbo,wheel,getriebe,oil,load,temp",
    [CH_DRIVELOG_ROAD] =
        "engine,motor,moteur,motore,gps,satellite,fan,idle,turbo,shaft,wind,rotor,pump,crank,driven,drive,wheel",
    [CH_DRIVELOG_THROTTLE] = "brake,clutch,bremse,kupplung,frein,freno,temp,temperature,heater,gps",
    [CH_DRIVELOG_ACCELERATION] = "y,z,quer,laterale,transversal,verticale,pedal,pump,angular,enrichment,fuel",
    [CH_DRIVELOG_COOLANT] = "oil,air,intake,fan,pump,exhaust,gearbox,brake",
    [CH_DRIVELOG_OIL] = "gearbox,trans,transmission,diff,differential,getriebe,life",
    [CH_DRIVELOG_CLUTCH] = "temp,temperature,slip,schlupf,wear,torque",
    [CH_DRIVELOG_GPS] = "time,altitude,course",
    [CH_DRIVELOG_DRIVEN] = "gps",
};

static bool listed(const char *list, const char *word)
{
    const size_t length = strlen(word);
    while (*list != '\0') {
        const size_t n = strcspn(list, ",");
        if (n == length && memcmp(list, word, n) == 0)
            return true;
        list += n + (list[n] == ',');
    }
    return false;
}

/* Latin-1 supplement without its accents, U+00C0 to U+00FF. */
static const char plain_letters[] = "aaaaaaaceeeeiiiidnooooo*ouuuuytsaaaaaaaceeeeiiiidnooooo/ouuuuyty";

/* One letter or digit of `text` folded, or 0 where a word ends there; `used` bytes. */
static char folded(const char *text, size_t *used)
{
    const unsigned char a = (unsigned char)text[0], b = (unsigned char)text[1];
    *used = 1;
    if (a == 0xc3 && b >= 0x80 && b < 0xc0) {
        *used = 2;
        return plain_letters[b - 0x80];
    }
    if (a >= 'A' && a <= 'Z')
        return (char)(a - 'A' + 'a');
    if ((a >= 'a' && a <= 'z') || (a >= '0' && a <= '9'))
        return (char)a;
    return '\0';
}

static bool is_upper(char c)
{
    return c >= 'A' && c <= 'Z';
}

static bool is_lower(char c)
{
    return c >= 'a' && c <= 'z';
}

/* Cuts `text` into words at marks and where the letter case says so, behind the words that are there; how many there are then. */
static size_t tokenise(const char *text, size_t n, log_header *header)
{
    enum { WORDS = sizeof header->tokens / sizeof header->tokens[0], LETTERS = sizeof header->tokens[0] };
    size_t length = 0;
    for (size_t at = 0; text[at] != '\0';) {
        size_t used;
        const char c = folded(text + at, &used);
        const bool hump = at > 0 && is_upper(text[at]) &&
                          (is_lower(text[at - 1]) || (is_upper(text[at - 1]) && is_lower(text[at + 1])));
        if ((c == '\0' || hump) && length > 0) {
            header->tokens[n++][length] = '\0';
            length = 0;
        }
        if (n == WORDS)
            return n;
        if (c != '\0' && length + 1 < LETTERS)
            header->tokens[n][length++] = c;
        at += used;
    }
    if (length > 0)
        header->tokens[n++][length] = '\0';
    return n;
}

/* Takes the last of (..), [..], {..} that may be a unit out of `text`, and all others too. */
static void take_brackets(char *text, log_header *header)
{
    for (;;) {
        const size_t open = strcspn(text, "([{");
        if (text[open] == '\0')
            return;
        const size_t inside = strcspn(text + open + 1, ")]}");
        char unit[sizeof header->unit];
        log_slice_text((log_slice){text + open + 1, inside}, unit, sizeof unit);
        if (header->unit[0] == '\0' || log_unit_known(unit, strlen(unit)))
            memcpy(header->unit, unit, sizeof unit);
        char *const behind = text + open + 1 + inside + (text[open + 1 + inside] != '\0');
        text[open] = ' ';
        memmove(text + open + 1, behind, strlen(behind) + 1);
    }
}

/* A unit as the last word or words: "Speed km/h", "speed_kmh", "Speed, mph", "n/min". */
static void take_tail(char *text, log_header *header)
{
    static const char marks[] = " ,_/:-.|";
    const size_t length = strlen(text);
    for (size_t at = 1; at < length && header->unit[0] == '\0'; at++) {
        if (strchr(marks, text[at]) == NULL)
            continue;
        const size_t unit = at + strspn(text + at, marks);
        const bool number = strspn(text + unit, "0123456789") == length - unit; /* "speed_1" is the first of two */
        if (!number && length - unit < sizeof header->unit && log_unit_known(text + unit, length - unit)) {
            memcpy(header->unit, text + unit, length - unit + 1);
            text[at] = '\0';
        }
    }
}

void log_header_read(log_slice cell, log_header *header)
{
    char text[256];
    log_slice_text(cell, text, sizeof text);
    memset(header, 0, sizeof *header);
    take_brackets(text, header);
    for (size_t n = strlen(text); n > 0 && text[n - 1] == ' '; n--)
        text[n - 1] = '\0';
    if (header->unit[0] == '\0')
        take_tail(text, header);
    header->n = tokenise(text, 0, header);
    if (header->n == 0) /* "[km/h]": the unit is all there is */
        header->n = tokenise(header->unit, 0, header);
    else if (header->unit[0] == '\0' && header->n == 1 && strlen(text) > 1 && strlen(text) < sizeof header->unit &&
             log_unit_known(text, strlen(text)))
        memcpy(header->unit, text, strlen(text) + 1); /* "rpm", "ms": name and unit in one */
    header->with_unit = tokenise(header->unit, header->n, header);
}

static bool has_word(const log_header *header, size_t n, const char *word, size_t length)
{
    for (size_t i = 0; i < n; i++)
        if (strlen(header->tokens[i]) == length && memcmp(header->tokens[i], word, length) == 0)
            return true;
    return false;
}

/* Words of the phrase where all of them are in the header, else 0. */
static size_t phrase_words(const log_header *header, size_t words, const char *phrase, size_t length)
{
    size_t n = 0;
    for (size_t at = 0; at < length; n++) {
        size_t word = 0;
        while (at + word < length && phrase[at + word] != ' ')
            word++;
        if (!has_word(header, words, phrase + at, word))
            return 0;
        at += word + 1;
    }
    return n;
}

int log_header_fits(const log_header *header, ch_drivelog_channel channel)
{
    int best = 0;
    size_t telling = 0; /* words that are no fillers */
    const bool road = channel == CH_DRIVELOG_ROAD || channel == CH_DRIVELOG_DRIVEN;
    for (size_t i = 0; i < header->n; i++) {
        if (road && listed(wheel_places, header->tokens[i]))
            return 0;
        if (listed(foreign_all, header->tokens[i]) || listed(foreign[channel], header->tokens[i]))
            return 0;
        telling += !listed(fillers, header->tokens[i]);
    }
    log_unit unit;
    const bool fits = header->unit[0] != '\0' && log_unit_find(channel, header->unit, strlen(header->unit), &unit);
    if (header->unit[0] != '\0' && !fits && log_unit_known(header->unit, strlen(header->unit)))
        return 0;
    /* "engine_rpm", "Motor [rpm]": there the unit is half of the name */
    const size_t usable = channel == CH_DRIVELOG_ENGINE ? header->with_unit : header->n;
    for (const char *at = phrases[channel]; *at != '\0';) {
        const size_t length = strcspn(at, ",");
        const size_t words = phrase_words(header, usable, at, length);
        size_t known = 0;
        for (size_t i = 0; i < header->n && words > 0; i++) {
            const char *const found = header->tokens[i];
            const size_t n = strlen(found);
            for (size_t from = 0; from + n <= length; from++)
                if (memcmp(at + from, found, n) == 0 && (from == 0 || at[from - 1] == ' ') &&
                    (from + n == length || at[from + n] == ' ') && !listed(fillers, found)) {
                    known++;
                    break;
                }
        }
        const size_t more = telling > known ? telling - known : 0;
        const bool single = length == 1; /* one letter counts only with its unit */
        if (words > 0 && more <= 2 && (!single || fits)) {
            const int score = 100 + 4 * (int)words - 15 * (int)more + (fits ? 20 : 0);
            best = score > best ? score : best;
        }
        at += length + (at[length] == ',');
    }
    return best;
}
